"""Addresses of the shopping list and its forms on paper."""

from urllib.parse import urlencode


def shopping(build_id: int) -> str:
    return f"/builds/{build_id}/shopping"


def shopping_from(build_id: int, part: str, after: int) -> str:
    """The list with one of its long parts (`unoffered`, `made`, `waiting`) from a later line on."""
    return f"/builds/{build_id}/shopping?{part}={after}#{part}"


def shopping_naming(build_id: int, supplier: str) -> str:
    """The list where the next line's supplier is filled in already."""
    return f"/builds/{build_id}/shopping?{urlencode({'supplier': supplier})}#unoffered"


def shopping_offers(build_id: int) -> str:
    return f"/builds/{build_id}/shopping/offers"


def shopping_spares(build_id: int) -> str:
    return f"/builds/{build_id}/shopping/spares"


def shopping_same(build_id: int) -> str:
    """Where a part is said to be bought as another."""
    return f"/builds/{build_id}/shopping/same"


def spending(build_id: int) -> str:
    return f"/builds/{build_id}/shopping/money"


def shopping_order(build_id: int, supplier_id: int) -> str:
    return f"/builds/{build_id}/shopping/suppliers/{supplier_id}"


def shopping_print(build_id: int) -> str:
    return f"/builds/{build_id}/shopping/print"


def shopping_csv(build_id: int) -> str:
    return f"/builds/{build_id}/shopping.csv"


def shopping_pdf(build_id: int) -> str:
    return f"/builds/{build_id}/shopping.pdf"
