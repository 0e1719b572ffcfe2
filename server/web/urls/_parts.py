"""Addresses of parts, offers, suppliers, the shelf and off-cuts."""

from urllib.parse import urlencode


def parts(build_id: int) -> str:
    return f"/builds/{build_id}/parts"


def part(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}"


def part_shelf(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/shelf"


def part_tried(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/tried"


def part_removal(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/removal"


def part_list(sheet: str, name: str = "", kind: str = "", start: int = 0, told: str = "") -> str:
    """A list of parts (`sheet`: the parts or the shelf) as somebody looks through it."""
    asked = {"name": name, "kind": kind, "from": start or "", "told": told}
    query = urlencode({key: value for key, value in asked.items() if value})
    return f"{sheet}?{query}" if query else sheet


def offers(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/parts/{part_id}/offers"


def offer(build_id: int, offer_id: int) -> str:
    return f"/builds/{build_id}/offers/{offer_id}"


def offer_preference(build_id: int, offer_id: int) -> str:
    return f"/builds/{build_id}/offers/{offer_id}/preference"


def offer_removal(build_id: int, offer_id: int) -> str:
    return f"/builds/{build_id}/offers/{offer_id}/removal"


def suppliers(build_id: int) -> str:
    return f"/builds/{build_id}/suppliers"


def supplier(build_id: int, supplier_id: int) -> str:
    return f"/builds/{build_id}/suppliers/{supplier_id}"


def shelf(build_id: int) -> str:
    return f"/builds/{build_id}/shelf"


def shelf_count(build_id: int, part_id: int) -> str:
    return f"/builds/{build_id}/shelf/{part_id}"


def off_cuts(build_id: int) -> str:
    return f"/builds/{build_id}/off-cuts"


def off_cut_use(build_id: int, off_cut_id: int) -> str:
    return f"/builds/{build_id}/off-cuts/{off_cut_id}/use"
