"""Addresses of two photos side by side, and of the photos of a design."""


def two(build_id: int, first: int = 0, second: int = 0) -> str:
    """Two photos side by side; with one, or none, where they are chosen."""
    chosen = [f"{name}={number}" for name, number in (("first", first), ("second", second)) if number]
    return f"/builds/{build_id}/side-by-side" + ("?" + "&".join(chosen) if chosen else "")


def two_pdf(build_id: int, first: int, second: int) -> str:
    """The same on paper."""
    return f"/builds/{build_id}/side-by-side.pdf?first={first}&second={second}"


def design_photos(build_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/designs/{design_id}/photos"


def piece(build_id: int, piece_id: int) -> str:
    """Leads to the photos of the design that a piece is of."""
    return f"/builds/{build_id}/pieces/{piece_id}"
