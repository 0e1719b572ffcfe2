"""Addresses of a build and of what every build has one of."""


def builds() -> str:
    return "/builds"


def build(build_id: int) -> str:
    return f"/builds/{build_id}"


def garage(build_id: int) -> str:
    return f"/builds/{build_id}/garage"


def engine(build_id: int) -> str:
    return f"/builds/{build_id}/engine"
