"""Addresses that belong to no build, and what any address may carry along."""

from urllib.parse import urlencode


def home() -> str:
    return "/"


def sign_in(back: str = "") -> str:
    return f"/sign-in?{urlencode({'back': back})}" if back else "/sign-in"


def sign_out() -> str:
    return "/sign-out"


def sums() -> str:
    return "/sums"


def sum_page(name: str) -> str:
    return f"/sums/{name}"


def openapi() -> str:
    return "/openapi.json"


def telling(address: str, told: str) -> str:
    """A sheet that begins with what was just done on it, e.g. `told` = "delivery-7"."""
    return f"{address}?told={told}" if told else address
