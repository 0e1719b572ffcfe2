"""Addresses of where ports are, and of keep-outs."""


def places(build_id: int) -> str:
    """Where the ports of a build are, and the datum that they are counted from."""
    return f"/builds/{build_id}/places"


def place(build_id: int, port_id: int) -> str:
    """Where a port is and which way it faces."""
    return f"/builds/{build_id}/ports/{port_id}/place"


def place_by(build_id: int, port_id: int, way: str) -> str:
    """The same, with the form of one way to read it."""
    return f"{place(build_id, port_id)}?way={way}"


def place_withdrawal(build_id: int, port_id: int, reading_id: int) -> str:
    return f"{place(build_id, port_id)}/{reading_id}/withdrawal"


def keep_outs(build_id: int) -> str:
    """What the pipes of a build must stay clear of."""
    return f"/builds/{build_id}/keep-outs"


def keep_outs_shaped(build_id: int, shape: str) -> str:
    """The same, with the form of one shape."""
    return f"{keep_outs(build_id)}?shape={shape}#keep-out-form"


def keep_out(build_id: int, keep_out_id: int) -> str:
    return f"{keep_outs(build_id)}/{keep_out_id}"


def keep_out_editing(build_id: int, keep_out_id: int) -> str:
    """The sheet with the form of one of them."""
    return f"{keep_outs(build_id)}?edit={keep_out_id}#keep-out-form"


def keep_out_removal(build_id: int, keep_out_id: int) -> str:
    return f"{keep_out(build_id, keep_out_id)}/removal"


def keep_out_return(build_id: int, keep_out_id: int) -> str:
    return f"{keep_out(build_id, keep_out_id)}/return"


def routes(build_id: int, subsystem_id: int) -> str:
    """Routes between the ports of a subsystem."""
    return f"/builds/{build_id}/subsystems/{subsystem_id}/routes"
