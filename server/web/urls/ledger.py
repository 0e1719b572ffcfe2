"""Addresses of the connection ledger."""


def lines(build_id: int) -> str:
    """What joins what, line by line."""
    return f"/builds/{build_id}/lines"


def lines_in(build_id: int, state: str) -> str:
    """The same, told for one state of the engine."""
    return f"{lines(build_id)}?state={state}"


def line_map(build_id: int) -> str:
    """What joins what, as a drawing."""
    return f"/builds/{build_id}/line-map"


def line_map_in(build_id: int, state: str) -> str:
    """The drawing in one state of the engine."""
    return f"{line_map(build_id)}?state={state}"


def line_map_sheet(build_id: int, state: str, sheet: int) -> str:
    """The drawing in that state, where it takes several sheets."""
    return f"{line_map_in(build_id, state)}&sheet={sheet}"


def part(build_id: int, state: str, name: str, start: int) -> str:
    """The same, with one of its lists from a later place on."""
    return f"{lines_in(build_id, state)}&part={name}&start={start}#{name}"


def line_map_pdf(build_id: int, state: str) -> str:
    """The same on one page of paper."""
    return f"/builds/{build_id}/line-map.pdf?state={state}"


def may_go(build_id: int, line_id: int) -> str:
    """Whether a line may be taken out."""
    return f"{lines(build_id)}/{line_id}"


def line_out(build_id: int, line_id: int) -> str:
    """Where a line is taken out of the car."""
    return f"{may_go(build_id, line_id)}/out"


def line_in(build_id: int, line_id: int) -> str:
    """Where one that was taken out is put back into the car."""
    return f"{may_go(build_id, line_id)}/in"


def joined(build_id: int, line_id: int) -> str:
    """Where one that hangs loose is joined again as before."""
    return f"{may_go(build_id, line_id)}/joined"


def line_photos(build_id: int, line_id: int) -> str:
    """Where a photo of a line is added."""
    return f"{may_go(build_id, line_id)}/photos"


def pull(build_id: int) -> str:
    """A hose comes off: the page for the car, and where it is said."""
    return f"/builds/{build_id}/pull"


def pulling(build_id: int, line_id: int) -> str:
    """The same, with one line first."""
    return f"{pull(build_id)}?line={line_id}"


def pull_new(build_id: int) -> str:
    """Where a hose is said to be off that is not in the ledger."""
    return f"{pull(build_id)}/new"


def tags(build_id: int) -> str:
    """Numbers to print and stick on, two of each."""
    return f"/builds/{build_id}/line-tags"


def adding(build_id: int, sort: str) -> str:
    """The ledger with the form of one more line, point, device or space."""
    return f"{lines(build_id)}?add={sort}#entry"


def editing(build_id: int, sort: str, entry_id: int) -> str:
    """The ledger with the form of what is entered."""
    return f"{lines(build_id)}?add={sort}&edit={entry_id}#entry"


def entries(build_id: int, sort: str) -> str:
    """Where one more line, point, device or space is entered."""
    return f"/builds/{build_id}/ledger/{sort}"


def entry(build_id: int, sort: str, entry_id: int) -> str:
    return f"{entries(build_id, sort)}/{entry_id}"


def removal(build_id: int, sort: str, entry_id: int) -> str:
    return f"{entry(build_id, sort, entry_id)}/removal"


def put_back(build_id: int, sort: str, entry_id: int) -> str:
    return f"{entry(build_id, sort, entry_id)}/return"


def usual(build_id: int) -> str:
    """Where the usual spaces of a car are entered at once."""
    return f"/builds/{build_id}/ledger-usual"


def cut(build_id: int) -> str:
    """Where it is said whether an over-boost cut is proved."""
    return f"/builds/{build_id}/ledger-cut"
