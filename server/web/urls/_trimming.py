"""Addresses of a piece that is cut long and trimmed."""


def trims(build_id: int, design_id: int, piece_id: int) -> str:
    """How long to cut a piece, and what came off it."""
    return f"/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/trims"


def trim(build_id: int, design_id: int, piece_id: int, trim_id: int) -> str:
    return f"{trims(build_id, design_id, piece_id)}/{trim_id}"


def trim_withdrawal(build_id: int, design_id: int, piece_id: int, trim_id: int) -> str:
    return f"{trim(build_id, design_id, piece_id, trim_id)}/withdrawal"


def trim_return(build_id: int, design_id: int, piece_id: int, trim_id: int) -> str:
    return f"{trim(build_id, design_id, piece_id, trim_id)}/return"


def trim_rest(build_id: int, design_id: int, piece_id: int) -> str:
    """Where what is left of the tube goes to the shelf."""
    return f"{trims(build_id, design_id, piece_id)}/rest"
