"""Hostile texts at the door of a server that other machines can reach; the seed is fixed."""

import random
from dataclasses import replace
from urllib.parse import urlencode

from server.app import create_app
from server.settings import Settings
from tests.asking import Browser, fresh_key
from tests.conftest import TEN_IN_THE_MORNING
from tests.http.hostile import FORM, TEXTS, faults, post_raw

SEED = 20261125


def test_the_door_stays_shut_to_hostile_passphrases(settings: Settings) -> None:
    """On a server for other machines nothing but the way in is shown, whatever is typed there."""
    shared = replace(settings, host="192.0.2.7")
    app = create_app(shared, lambda: TEN_IN_THE_MORNING)
    dice = random.Random(SEED)
    with Browser(app) as browser:
        for text in dice.sample(TEXTS, len(TEXTS)):
            pairs = [("passphrase", text), ("back", dice.choice(TEXTS)), ("operation_key", fresh_key())]
            body = urlencode(pairs, errors="surrogatepass").encode()
            answer = post_raw(browser, "/sign-in", body, {"content-type": FORM})
            assert faults(answer) == [], text[:40]
            assert answer.status_code >= 400, text[:40]
        assert browser.get("/builds", headers={"accept": "text/html"}).status_code != 200
    app.state.engine.dispose()
