"""Errors that leave a route, and the status each is answered with."""

import errno

import pytest
from fastapi import FastAPI

from server.web.errors import add_error_pages
from tests.asking import Browser


@pytest.mark.parametrize(("number", "status"), [(errno.ENOSPC, 507), (errno.EDQUOT, 507), (errno.EIO, 500)])
def test_a_file_that_the_disk_has_no_room_for_is_told_as_a_full_disk(number: int, status: int) -> None:
    app = FastAPI()
    add_error_pages(app)

    @app.get("/photo")
    def write() -> None:
        raise OSError(number, "as the system says it")

    with Browser(app) as browser:
        answer = browser.get("/photo")
    assert answer.status_code == status
    assert "as the system says it" not in answer.text
