"""Addresses of the handbook."""


def handbook() -> str:
    return "/handbook"


def handbook_rule(code: str) -> str:
    return f"/handbook/rules/{code}"


def handbook_words() -> str:
    """What the words mean that rules and pages use."""
    return "/handbook/words"


def handbook_losses() -> str:
    """How far the authorities on loss coefficients lie apart."""
    return "/handbook/losses"


def line_rules() -> str:
    """The rules of the line map."""
    return "/handbook/lines"


def rule_in_build(build_id: int, code: str) -> str:
    """A rule, with where it is used in a build."""
    return f"/builds/{build_id}/handbook/{code}"
