"""Hostile texts in the fields of parts, offers, suppliers and the shelf: refused or shown as text."""

import pytest

from tests.asking import Browser, number_in
from tests.http.hostile import RAW, TEXTS

FORMS = {
    "parts": ("name", "price", "count", "note", "kind"),
    "parts/1": ("name", "stock_length", "spares", "spare_reason", "spec", "tried"),
    "parts/1/offers": ("supplier", "price", "pack", "code", "lead_days", "note"),
    "suppliers": ("name", "postage", "lead_days", "contact", "note"),
    "off-cuts": ("part", "length", "note"),
    "shelf/1": ("count", "name", "from"),
}
PAGES = ("parts", "parts/1", "suppliers", "suppliers/1", "shelf")

USUAL = {"name": "Tube", "supplier": "Tarn Hose & Clamp", "price": "1", "part": "Tube", "length": "1 m"}
SENDABLE = [text for text in TEXTS if not any("\ud800" <= sign <= "\udfff" for sign in text)]
"""No form can send half a character."""


@pytest.mark.parametrize("form", FORMS)
def test_no_text_breaks_a_form_or_stands_in_a_page_as_it_was_typed(browser: Browser, form: str) -> None:
    build = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    home = f"/builds/{build}"
    browser.post(f"{home}/parts", {"name": "Tube", "count": "1"})
    browser.post(f"{home}/suppliers", {"name": "Tarn Hose & Clamp"})
    for number, text in enumerate(SENDABLE):
        field = FORMS[form][number % len(FORMS[form])]
        version = str(browser.get_json(f"{home}/parts/1")["version"]) if form == "parts/1" else "1"
        answer = browser.post(f"{home}/{form}", {"version": version, **USUAL, field: text})
        assert answer.status_code < 500, (field, text)
        assert not any(raw in answer.text for raw in RAW), (field, text)
    for page in PAGES:
        shown = browser.get(f"{home}/{page}")
        assert shown.status_code == 200
        assert not any(raw in shown.text for raw in RAW)
