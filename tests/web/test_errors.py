"""Errors that leave a route, and the status each is answered with."""

import errno
import sqlite3

import pytest
from fastapi import FastAPI
from sqlalchemy.exc import OperationalError

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


@pytest.mark.parametrize(
    ("said", "status"),
    [
        ("database or disk is full", 507),
        ("database is locked", 409),
        ("connection failed: the database system is starting up", 503),
        ("no such table: rest", 500),
    ],
)
def test_what_the_database_says_decides_and_not_what_was_typed(said: str, status: int) -> None:
    app = FastAPI()
    add_error_pages(app)

    @app.get("/note")
    def write() -> None:
        typed = {"text": "a full, locked connection"}
        raise OperationalError("INSERT INTO note", typed, sqlite3.OperationalError(said))

    with Browser(app) as browser:
        assert browser.get("/note").status_code == status
