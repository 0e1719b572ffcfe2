"""Addresses of ports, their readings and photos."""


def ports(build_id: int) -> str:
    return f"/builds/{build_id}/ports"


def ports_from(build_id: int, first: int) -> str:
    """The ports after so many."""
    return f"/builds/{build_id}/ports?from={first}"


def port(build_id: int, port_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}"


def port_measuring(build_id: int, port_id: int, dimension: str) -> str:
    return f"/builds/{build_id}/ports/{port_id}?measure={dimension}"


def port_photos(build_id: int, port_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}/photos"


def port_removal(build_id: int, port_id: int) -> str:
    """Where a port is set aside and put back."""
    return f"/builds/{build_id}/ports/{port_id}/removal"


def readings(build_id: int, port_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}/readings"


def reading(build_id: int, reading_id: int) -> str:
    """Leads to the port that a reading is of."""
    return f"/builds/{build_id}/readings/{reading_id}"


def reading_withdrawal(build_id: int, port_id: int, reading_id: int) -> str:
    return f"/builds/{build_id}/ports/{port_id}/readings/{reading_id}/withdrawal"
