"""Addresses that belong to no build, and what any address may carry along."""

from collections.abc import Mapping
from math import degrees
from urllib.parse import urlencode


def home() -> str:
    return "/"


def sign_in(back: str = "") -> str:
    return f"/sign-in?{urlencode({'back': back})}" if back else "/sign-in"


def sign_out() -> str:
    return "/sign-out"


def this_phone() -> str:
    """How pages look on this phone, and what it can do."""
    return "/this-phone"


def authority() -> str:
    """The home authority's certificate, for a phone to trust."""
    return "/authority.crt"


def sums() -> str:
    return "/sums"


def sum_page(name: str, typed: Mapping[str, str] | None = None) -> str:
    """A sum; with what is typed in it."""
    return f"/sums/{name}?{urlencode(typed)}" if typed else f"/sums/{name}"


def mitred_bend(
    outside: float, bend: float, cuts: int, radius: float, wall: float | None, mark: float | None = None
) -> str:
    """The sum of a mitred bend, filled in. outside, radius, wall: [m]; bend: [rad]; mark: clock of its throat
    from the paint line as one looks towards the cut [rad].
    """
    typed = {
        "outside_diameter_mm": f"{outside * 1e3:.2f}",
        "bend_deg": f"{degrees(bend):.2f}",
        "cuts": str(cuts),
        "centreline_radius_mm": f"{radius * 1e3:.2f}",
        "ordinates": "16",
        "paper_mm": "0.1",
    }
    typed |= {} if wall is None else {"wall_mm": f"{wall * 1e3:.2f}"}
    typed |= {} if mark is None else {"mark_deg": f"{degrees(mark) % 360.0:.1f}"}
    return sum_page("mitre", typed)


def mitre(outside: float, bend: float, wall: float | None, mark: float) -> str:
    """That of one mitre; its radius is of no account to the template of one cut. Units as `mitred_bend`."""
    return mitred_bend(outside, bend, 1, outside, wall, mark)


def sum_pattern(name: str, form: str, typed: Mapping[str, str]) -> str:
    """A sum's pattern at full size; `form`: what it comes as, such as "a4.pdf"."""
    return f"/sums/{name}/pattern/{form}?{urlencode(typed)}"


def openapi() -> str:
    return "/openapi.json"


def telling(address: str, told: str) -> str:
    """A sheet that begins with what was just done on it, e.g. `told` = "delivery-7"."""
    joined = "&" if "?" in address else "?"
    return f"{address}{joined}told={told}" if told else address
