"""Addresses that belong to no build, and what any address may carry along."""

from collections.abc import Mapping
from urllib.parse import urlencode


def home() -> str:
    return "/"


def sign_in(back: str = "") -> str:
    return f"/sign-in?{urlencode({'back': back})}" if back else "/sign-in"


def sign_out() -> str:
    return "/sign-out"


def sums() -> str:
    return "/sums"


def sum_page(name: str, typed: Mapping[str, str] | None = None) -> str:
    """A sum; with what is typed in it."""
    return f"/sums/{name}?{urlencode(typed)}" if typed else f"/sums/{name}"


def sum_pattern(name: str, form: str, typed: Mapping[str, str]) -> str:
    """A sum's pattern at full size; `form`: what it comes as, such as "a4.pdf"."""
    return f"/sums/{name}/pattern/{form}?{urlencode(typed)}"


def openapi() -> str:
    return "/openapi.json"


def telling(address: str, told: str) -> str:
    """A sheet that begins with what was just done on it, e.g. `told` = "delivery-7"."""
    return f"{address}?told={told}" if told else address
