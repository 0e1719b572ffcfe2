"""Addresses of a build and of what every build has one of."""


def builds() -> str:
    return "/builds"


def build(build_id: int) -> str:
    return f"/builds/{build_id}"


def archives() -> str:
    """Where a build is brought in from a file."""
    return "/archives"


def export(build_id: int) -> str:
    """The build as one file."""
    return f"{build(build_id)}/export"


def garage(build_id: int) -> str:
    return f"/builds/{build_id}/garage"


def engine(build_id: int) -> str:
    return f"/builds/{build_id}/engine"


def air_path(build_id: int) -> str:
    """Pressure and temperature from the filter to the tailpipe."""
    return f"/builds/{build_id}/air-path"


def power(build_id: int) -> str:
    return f"/builds/{build_id}/power"


def limits(build_id: int) -> str:
    """The limits of the checks."""
    return f"/builds/{build_id}/limits"


def limit(build_id: int, key: str) -> str:
    """Where one limit is changed."""
    return f"/builds/{build_id}/limits/{key}"


def limit_changing(build_id: int, key: str) -> str:
    """The limits with the form of one of them."""
    return f"/builds/{build_id}/limits?change={key}#limit-{key.replace('.', '-')}"


def limit_in_list(build_id: int, key: str) -> str:
    return f"/builds/{build_id}/limits#limit-{key.replace('.', '-')}"


def limit_as_usual(build_id: int, key: str) -> str:
    return f"/builds/{build_id}/limits/{key}/usual"
