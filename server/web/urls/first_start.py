"""Addresses of the gate before the first start."""


def gate(build_id: int) -> str:
    """Every stage, and which one is next."""
    return f"/builds/{build_id}/first-start"


def stage(build_id: int, code: str) -> str:
    """One stage: what it asks, what holds it, who signed it."""
    return f"{gate(build_id)}/{code}"


def entries(build_id: int, code: str) -> str:
    """Where the ticks and figures of a stage are entered."""
    return f"{stage(build_id, code)}/entries"


def looks(build_id: int, code: str) -> str:
    """Where somebody says which connections they followed."""
    return f"{stage(build_id, code)}/looks"


def signature(build_id: int, code: str) -> str:
    """Where a stage is signed."""
    return f"{stage(build_id, code)}/signature"


def taking_back(build_id: int, code: str) -> str:
    """Where its signature is taken back."""
    return f"{stage(build_id, code)}/taking-back"


def leak_test(build_id: int) -> str:
    """The pressure test of the charge side: how it is made, and those that were made."""
    return f"/builds/{build_id}/leak-test"


def leak_test_withdrawal(build_id: int, test_id: int) -> str:
    """Where one that was noted no longer counts, or counts again."""
    return f"{leak_test(build_id)}/{test_id}/withdrawal"


def wall_sheet(build_id: int) -> str:
    """The stages on paper, for the garage wall."""
    return f"{gate(build_id)}.pdf"
