"""What is typed for labels: how a sheet of stickers is parted, and what gets a label.

Everything stands in the address, so that a sheet can be kept as a bookmark; the sizes are also kept in a
cookie for next time. Nothing in that is trusted.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, urlencode, urlsplit

from server.core.units import System
from server.features.labels.page import PAPERS, SORTS, Chosen
from server.web.fields import Fields
from server.web.paper_labels import Stickers

COOKIE = "labels"
SIZES = ("paper", "wide", "high", "columns", "rows", "left", "top", "across", "down", "address")
"""What is kept for next time."""
USUAL: Mapping[System, Mapping[str, str]] = {
    System.metric: {
        "paper": "A4", "wide": "63.5 mm", "high": "38.1 mm", "columns": "3", "rows": "7",
        "left": "7.2 mm", "top": "15.1 mm", "across": "2.5 mm", "down": "0",
    },
    System.inch: {
        "paper": "letter", "wide": "2 5/8 in", "high": "1 in", "columns": "3", "rows": "10",
        "left": "3/16 in", "top": "1/2 in", "across": "1/8 in", "down": "0",
    },
}  # fmt: skip
"""Sheets of 21 and of 30 that are sold everywhere; common practice, no source."""
MOST_ALONG, MOST_EACH, MOST_BOXES, LONGEST_BOX = 40, 20, 60, 80
LEAST_SIDE, LONGEST_SIDE = 0.010, 0.280
"""Of a label [m]."""
LONGEST_ADDRESS = 100
Pairs = Iterable[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Box:
    """A box with its name, and the words that its code looks for on the shelf."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class LabelForm:
    """stickers: the sheet; each, of_lines: how many of every label; address: of the server, in the codes."""

    stickers: Stickers
    each: int
    of_lines: int
    address: str
    boxes: tuple[Box, ...]


def kept_sizes(cookie: str) -> dict[str, str]:
    """The sizes typed last, from the cookie; what can't be read counts as nothing said."""
    try:
        pairs = parse_qsl(cookie.strip('"'), max_num_fields=len(SIZES))
    except ValueError:
        return {}
    return {name: text[:LONGEST_ADDRESS] for name, text in pairs if name in SIZES}


def as_cookie(typed: Mapping[str, str]) -> str:
    """The sizes of a form that was read, for next time."""
    return urlencode({name: typed[name] for name in SIZES if len(typed.get(name, "")) <= LONGEST_ADDRESS})


def chosen(pairs: Pairs) -> Chosen:
    """What an address says of things; what can't be read chooses nothing."""
    ticked: dict[str, set[int]] = {sort: set() for sort in SORTS}
    whole, name = set(), ""
    for key, text in pairs:
        if key in ticked and text.isascii() and text.isdigit() and len(text) < 12:
            ticked[key].add(int(text))
        elif key == "all" and text in SORTS:
            whole.add(text)
        elif key == "name":
            name = text.strip()[:LONGEST_BOX]
    return Chosen({sort: frozenset(some) for sort, some in ticked.items()}, frozenset(whole), name)


def label_form(typed: Mapping[str, str], hosts: Collection[str]) -> LabelForm:
    """`hosts`: the names under which this server answers. Raises BadInput."""
    fields = Fields(typed)
    columns = fields.whole("columns", "Side by side", least=1, most=MOST_ALONG, required=True) or 1
    rows = fields.whole("rows", "Under each other", least=1, most=MOST_ALONG, required=True) or 1
    side = "10 to 280 mm, such as 63.5 mm or 2 5/8 in"
    gap = "0 to 100 mm, such as 2.5 mm or 1/8 in"
    stickers = Stickers(
        letter=fields.choice("paper", "Paper", [value for value, _ in PAPERS], default="A4") == "letter",
        left=fields.length("left", "Left margin", 0.0, 0.1, gap),
        top=fields.length("top", "Top margin", 0.0, 0.1, gap),
        wide=fields.length("wide", "A label's width", LEAST_SIDE, LONGEST_SIDE, side),
        high=fields.length("high", "A label's height", LEAST_SIDE, LONGEST_SIDE, side),
        columns=columns,
        rows=rows,
        across=fields.length("across", "Gap across", 0.0, 0.1, gap),
        down=fields.length("down", "Gap downward", 0.0, 0.1, gap),
        first=fields.whole("first", "First free place", least=1, most=columns * rows) or 1,
    )
    if not fields.errors:
        _fits(fields, stickers)
    form = LabelForm(
        stickers,
        fields.whole("each", "Of each thing", least=1, most=MOST_EACH) or 1,
        int(fields.choice("of_lines", "Of a line", ("2", "1"), default="2")),
        _address(fields, hosts),
        _boxes(fields),
    )
    fields.done()
    return form


def _fits(fields: Fields, stickers: Stickers) -> None:
    """Whether all labels lie on the paper; else by how much they do not."""
    page, over = stickers.page, stickers.over
    for name, label, at, words in (
        ("wide", "A label's width", 0, "across"),
        ("high", "A label's height", 1, "down"),
    ):
        if over[at] > 0.0:
            takes = _mm(page[at] + over[at])
            fields.refuse(
                name,
                f"{label}: margin, labels and gaps take {takes} {words}, and the page has {_mm(page[at])}: "
                f"{_mm(over[at])} too much.",
                "smaller labels, fewer of them, or smaller gaps and margin",
            )


def _mm(size: float) -> str:
    return f"{round(size * 1e3, 2):g} mm"


def _address(fields: Fields, hosts: Collection[str]) -> str:
    text = fields.text("address", "The server's address", most=LONGEST_ADDRESS, required=True)
    accepts = f"http://name:port of this server, its name one of {', '.join(sorted(hosts))}"
    try:
        found = urlsplit(text)
        known = found.hostname in hosts and (found.port is None or found.port > 0)
    except ValueError:
        known = False
    if text and (not known or found.scheme not in {"http", "https"} or found.path.strip("/") or found.query):
        fields.refuse("address", f"The server's address: it does not answer under “{text}”.", accepts)
    return text.rstrip("/")


def _boxes(fields: Fields) -> tuple[Box, ...]:
    lines = [line.strip() for line in fields.raw("boxes").splitlines() if line.strip()]
    found = []
    for line in lines[:MOST_BOXES]:
        name, _, words = (part.strip() for part in line.partition(":"))
        if not name or len(line) > LONGEST_BOX:
            fields.refuse("boxes", f"Boxes: “{line[:40]}” is no name.", f"up to {LONGEST_BOX} letters a box")
        found.append(Box(name, words))
    if len(lines) > MOST_BOXES:
        fields.refuse("boxes", f"Boxes: {len(lines)} are too many at once.", f"up to {MOST_BOXES}")
    return tuple(found)
