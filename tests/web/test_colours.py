"""The named colours of the style sheet stand out, by day, at night and in the sun."""

import re
from typing import Literal

import pytest

from server.settings import PROJECT

Light = Literal["day", "night", "sun"]
BEGINS = {"day": ":root{", "night": ":root.night{", "sun": ":root.sun{"}
AS_THE_PHONE_IS_SET = "@media (prefers-color-scheme:dark){:root{"


def named_after(beginning: str) -> dict[str, str]:
    """The colours that one rule of the style sheet names, in full."""
    css = (PROJECT / "static" / "app.css").read_text(encoding="utf-8")
    rule = css.split(beginning, maxsplit=1)[1].split("}", maxsplit=1)[0]
    found = re.findall(r"--([a-z0-9]+):#([0-9a-f]{6}|[0-9a-f]{3})\b", rule)
    return {
        name: f"#{value if len(value) == 6 else ''.join(2 * one for one in value)}" for name, value in found
    }


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2, definition of relative luminance)."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [("#000000", "#ffffff", 21.0), ("#777777", "#ffffff", 4.48), ("#0000ff", "#ffffff", 8.59)],
)
def test_contrast_is_reckoned_as_the_standard_does(one: str, other: str, expected: float) -> None:
    """21:1 is WCAG's own greatest value; the two others are from memory, as contrast checkers give them."""
    assert contrast(one, other) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("light", ["day", "night", "sun"])
@pytest.mark.parametrize("ground", ["paper", "sheet", "wash"])
def test_text_stands_out_in_glare(light: Light, ground: str) -> None:
    named = named_after(BEGINS[light])
    assert contrast(named["ink"], named[ground]) >= 10
    assert contrast(named["ink2"], named[ground]) >= (10 if light == "sun" else 7)
    assert contrast(named["accent"], named[ground]) >= 4.5


def test_night_is_what_a_dark_phone_shows() -> None:
    """So that looking at one is looking at both."""
    assert named_after(BEGINS["night"]) == named_after(AS_THE_PHONE_IS_SET)
