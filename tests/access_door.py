"""The pages of the door, which only stand where other machines reach the server: as a stranger meets them and
who is signed in, over plain HTTP and over HTTPS.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page

from server.app import create_app
from server.certificate import make_authority
from server.db import write_session
from server.features.builders.service import add_builder
from server.features.passkeys.tables import Passkey
from server.migrate import upgrade
from server.settings import settings_for
from tests.access import Looked, look_closely, phone_in
from tests.bad_line import NAME, Certificate
from tests.conftest import TEN_IN_THE_MORNING
from tests.far_garage import Garage, a_garage_far_off

DOOR = "/sign-in"
INSIDE = (DOOR, "/signed-in", "/passkeys", "/this-phone")


@contextmanager
def a_door(data: Path, secure: Certificate | None) -> Iterator[Garage]:
    """A server that the network reaches, with an authority of its own, a second builder and a passkey."""
    settings = replace(settings_for(data=data, environment={}), extra_hosts=(NAME,))
    upgrade(settings)
    make_authority(settings, (NAME,), TEN_IN_THE_MORNING)
    app = create_app(settings, lambda: TEN_IN_THE_MORNING)
    with write_session(app.state.engine) as session:
        add_builder(session, "Robin", "tin kettle on a wet bench", TEN_IN_THE_MORNING)
        session.add(
            Passkey(name="Phone", credential="A", public_key=b"", uses=0, created_at=TEN_IN_THE_MORNING)
        )
    with a_garage_far_off(app, secure) as garage:
        yield garage
    app.state.engine.dispose()


def _look(page: Page, address: str) -> Looked:
    """At that page, and not at the door that stands in front of it."""
    found = look_closely(page, address)
    assert urlsplit(page.url).path == address, page.url
    return found


def look_at_the_door(chromium: Chromium, folder: Path, certificate: Certificate) -> list[Looked]:
    """Each page of the door, from every side. The browser was started for this certificate."""
    pages = []
    for scheme, secure in (("http", None), ("https", certificate)):
        with a_door(folder / scheme, secure) as garage, phone_in(chromium, garage.line.address) as page:
            met = [_look(page, DOOR)]
            page.context.add_cookies([garage.cookie])
            met += [_look(page, one) for one in INSIDE]
            pages += [replace(one, address=f"{scheme} {one.address}") for one in met]
    return pages
