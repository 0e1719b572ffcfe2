"""Every address that takes a form can be opened: a refused form leaves it in the address bar."""

import re

import pytest
from fastapi.routing import APIRoute

from server.app import FEATURES
from tests.asking import Browser

TAKING = sorted(
    {
        route.path
        for feature in FEATURES
        for route in feature.router.routes
        if isinstance(route, APIRoute) and "POST" in (route.methods or ())
    }
)
WITHOUT = (
    "/builds/{build_id}/limits/{key}",
    "/builds/{build_id}/subsystems/{subsystem_id}/figures",
    "/s/{token}",  # opened by the links that a build gave out; the demo gave none
    "/builds/{build_id}/first-start/{stage}",
)
IN_BRACES = re.compile(r"\{[^}]*\}")


def test_every_address_that_takes_a_form_leads_to_a_page(demo: Browser) -> None:
    """Asked for the first of everything in the demo; not every subsystem or number has such a page."""
    assert len(TAKING) > 80
    told = {}
    for path in TAKING:
        address = IN_BRACES.sub("1", path)
        answer = demo.get(address, headers={"accept": "text/html"})
        hops = 0
        while answer.status_code == 303 and hops < 3:
            answer = demo.get(answer.headers["location"], headers={"accept": "text/html"})
            hops += 1
        if answer.status_code != 200 and not (answer.status_code == 404 and path.startswith(WITHOUT)):
            told[path] = answer.status_code
    assert told == {}


@pytest.mark.parametrize(
    ("refused", "page"),
    [
        ("/builds/1/subsystems/1/designs", "/builds/1/subsystems/1"),
        ("/builds/1/designs/1/pieces", "/builds/1/designs/1"),
        ("/builds/1/order-lines/1/calling-off", "/builds/1/order-lines/1"),
        ("/builds/1/order-lines/1", "/builds/1/orders/1"),
        ("/builds/1/tasks", "/builds/1/work"),
        ("/builds/1/tasks/1/afters", "/builds/1/tasks/1"),
        ("/builds/1/off-cuts", "/builds/1/shelf"),
        ("/builds/1/shopping/offers", "/builds/1/shopping"),
        ("/builds/1/offers/1", "/builds/1/parts/1"),
    ],
)
def test_where_a_refused_form_leads_when_its_address_is_opened(
    demo: Browser, refused: str, page: str
) -> None:
    answer = demo.get(refused)
    assert answer.status_code == 303
    assert re.sub(r"\d+$", "1", answer.headers["location"]) == page


def test_the_address_of_nothing_is_still_not_there(demo: Browser) -> None:
    assert demo.get("/builds/1/order-lines/9999").status_code == 404
    assert demo.get("/builds/1/nothing/at/all").status_code == 404
