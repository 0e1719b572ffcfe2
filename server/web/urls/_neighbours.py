"""Addresses of what stands near a run."""


def neighbours(build_id: int, design_id: int) -> str:
    """What stands near the run of a design."""
    return f"/builds/{build_id}/designs/{design_id}/neighbours"


def neighbour(build_id: int, design_id: int, neighbour_id: int) -> str:
    return f"{neighbours(build_id, design_id)}/{neighbour_id}"


def neighbour_editing(build_id: int, design_id: int, neighbour_id: int) -> str:
    """The sheet with the form of one of them."""
    return f"{neighbours(build_id, design_id)}?edit={neighbour_id}#neighbour-form"


def neighbour_removal(build_id: int, design_id: int, neighbour_id: int) -> str:
    return f"{neighbour(build_id, design_id, neighbour_id)}/removal"


def neighbour_return(build_id: int, design_id: int, neighbour_id: int) -> str:
    return f"{neighbour(build_id, design_id, neighbour_id)}/return"


def neighbours_looked(build_id: int, design_id: int) -> str:
    """Where somebody says that all that stands near is entered."""
    return f"{neighbours(build_id, design_id)}/looked"


def neighbour_found(build_id: int, neighbour_id: int | str) -> str:
    """Leads to the form of a neighbour, whatever design it stands near."""
    return f"/builds/{build_id}/neighbours/{neighbour_id}"
