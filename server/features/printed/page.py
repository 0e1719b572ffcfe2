"""The shopping list on paper and for a spreadsheet: whole, with boxes to tick."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import ClassVar

from server.core.buying.line_words import for_what, lengths_text, line_facts, spare_facts
from server.core.buying.listing import Apart, Basket, Line, ShoppingList, Spare
from server.core.units import System
from server.features.builds.page import Face, heading
from server.web.paper import Sheet
from server.web.paper_list import Column, Entry, Ruled
from server.web.paper_text import unprinted
from server.web.spreadsheet import Cell, minor_units
from server.web.view import Page
from server.web.words import counted, day_text, money, plain_money

NOBODY = "Nobody offers these yet"
ORIGIN_WORDS = {"make": "to make", "salvage": "to salvage", "borrowed": "to borrow and try on"}


@dataclass(frozen=True, slots=True)
class PrintRow:
    """One line with a box to tick; `under` says what it is for."""

    count: str
    name: str
    under: str
    each: str
    cost: str


@dataclass(frozen=True, slots=True)
class PrintList:
    """The lines of one supplier, or of what is listed apart. `total` is empty where nothing is bought."""

    heading: str
    note: str
    rows: tuple[PrintRow, ...]
    total: str


@dataclass(frozen=True, kw_only=True)
class PrintPage(Page):
    """The whole shopping list, to be printed: no navigation, a box to tick on each line."""

    template: ClassVar[str] = "printed/shopping.html"

    build_id: int
    currency: str
    lists: tuple[PrintList, ...]
    totals: tuple[tuple[str, str], ...]
    unprinted: str = ""
    """Letters in it that the PDF has no glyphs for."""


def print_page(build: Face, found: ShoppingList, today: date) -> PrintPage:
    lists = [_basket(build, basket) for basket in (*found.baskets, found.unoffered) if basket.bought]
    if found.waiting:
        lists.append(_apart(build.system, "Wait with these", found.waiting))
    if found.not_bought:
        lists.append(_apart(build.system, "Not bought", found.not_bought))
    made = PrintPage(
        **heading(build, "Shopping list", today, within="Shopping"),
        build_id=build.id,
        currency=build.currency,
        lists=tuple(lists),
        totals=_totals(build, found),
    )
    return replace(made, unprinted=unprinted(repr(made)))


def _totals(build: Face, found: ShoppingList) -> tuple[tuple[str, str], ...]:
    totals, currency = found.totals, build.currency
    told = [
        ("Parts", money(totals.goods_minor, currency)),
        ("Spares", money(totals.spares_minor, currency)),
        ("Postage", money(totals.postage_minor, currency)),
        ("To buy", money(totals.to_buy_minor, currency)),
    ]
    if totals.unpriced:
        told.append(("Without a price", counted(totals.unpriced, "line")))
    return tuple(told)


def _basket(build: Face, basket: Basket) -> PrintList:
    rows = [_line(build.system, line) for line in basket.lines]
    rows += [_spare(spare) for spare in basket.spares]
    if basket.seller is None:
        return PrintList(NOBODY, "", tuple(rows), plain_money(basket.total_minor))
    note = f"Postage {money(basket.postage_minor, build.currency)}, in the sum"
    if basket.lead_days is not None:
        note += f"; about {counted(basket.lead_days, 'day')} to the door"
    return PrintList(basket.seller.name, note, tuple(rows), plain_money(basket.total_minor))


def _line(system: System, line: Line) -> PrintRow:
    return PrintRow(
        str(line.quantity),
        line.name,
        _under((*line_facts(line, system), _code(line)), for_what(line.by)),
        _price(line),
        plain_money(line.cost_minor),
    )


def _spare(spare: Spare) -> PrintRow:
    return PrintRow(
        str(spare.quantity),
        f"{spare.name} (spare)",
        _under((*spare_facts(spare), _code(spare)), spare.reason),
        _price(spare),
        plain_money(spare.cost_minor),
    )


def _under(facts: Iterable[str], whose: str) -> str:
    return " · ".join(text for text in (whose, *facts) if text)


def _code(one: Line | Spare) -> str:
    return f"their number {one.offer.code}" if one.offer and one.offer.code else ""


def _price(one: Line | Spare) -> str:
    if one.offer is None:
        return ""
    return plain_money(one.offer.price_minor) + (f" / {one.offer.pack}" if one.offer.pack > 1 else "")


def _apart(system: System, title: str, apart: Sequence[Apart]) -> PrintList:
    rows = [
        PrintRow(
            str(one.quantity) if one.quantity else "",
            _cut_name(system, one),
            _under((one.why or ORIGIN_WORDS.get(one.origin, one.origin),), for_what(one.by)),
            "",
            "",
        )
        for one in apart
    ]
    return PrintList(title, "", tuple(rows), "")


def _cut_name(system: System, one: Apart) -> str:
    cut = lengths_text(one.lengths, system)
    return f"{one.name}, {cut}" if cut else one.name


def sheet(page: PrintPage, *, letter: bool) -> Sheet:
    """The page as a printed sheet."""
    columns = (
        Column("How many", 1.1, right=True),
        Column("Part", 6.4),
        Column(f"Price [{page.currency}]", 1.5, right=True),
        Column(f"Cost [{page.currency}]", 1.3, right=True),
    )
    fields = (
        ("Build", page.title.build),
        ("Sheet", page.title.sheet),
        ("Date", day_text(page.title.date)),
        ("To buy", dict(page.totals)["To buy"]),
    )
    return Sheet(
        f"{page.title.sheet}, {page.title.build}",
        fields,
        tuple(_ruled(one, columns) for one in page.lists),
        letter,
    )


def _ruled(one: PrintList, columns: tuple[Column, ...]) -> Ruled:
    return Ruled(
        one.heading,
        columns,
        tuple(Entry((row.count, row.name, row.each, row.cost), row.under) for row in one.rows),
        one.note,
        (Entry(("", "Together", "", one.total)),) if one.total else (),
    )


# For a spreadsheet


def csv_header(currency: str) -> tuple[str, ...]:
    return (
        "List",
        "Supplier",
        "Part",
        "For",
        "Needed [pieces]",
        "In the garage [pieces]",
        "On order [pieces]",
        "To order [pieces]",
        "Pack [pieces]",
        f"Price of a pack [{currency}]",
        f"Cost [{currency}]",
        "To the door [days]",
        "Their number",
        "Lengths [mm]",
        "Remarks",
    )


def csv_rows(found: ShoppingList, system: System) -> list[tuple[Cell, ...]]:
    """One row a line; postage is a row of its own, so that the costs add up to what is to buy."""
    rows: list[tuple[Cell, ...]] = []
    for basket in (*found.baskets, found.unoffered):
        seller = basket.seller.name if basket.seller else ""
        rows += [_csv_line(line, seller, system) for line in basket.lines]
        rows += [_csv_spare(spare, seller) for spare in basket.spares]
        if basket.postage_minor:
            cost = minor_units(basket.postage_minor)
            rows.append(("postage", seller, "Postage", *[None] * 7, cost, *[None] * 4))
    rows += [_csv_apart("wait", one) for one in found.waiting]
    rows += [_csv_apart("not bought", one) for one in found.not_bought]
    return rows


def _csv_line(line: Line, seller: str, system: System) -> tuple[Cell, ...]:
    bars = line.cutting.bars if line.cutting else ()
    lengths = [cut for bar in bars for cut in bar.cuts] + list(line.cutting.too_long if line.cutting else ())
    return (
        "to buy",
        seller,
        line.name,
        for_what(line.by),
        line.needed,
        line.in_hand,
        line.on_order,
        line.quantity,
        *_csv_price(line),
        _millimetres(lengths),
        "; ".join(line_facts(line, system)),
    )


def _csv_spare(spare: Spare, seller: str) -> tuple[Cell, ...]:
    return (
        "spare",
        seller,
        spare.name,
        None,
        spare.wanted,
        None,
        None,
        spare.quantity,
        *_csv_price(spare),
        None,
        spare.reason,
    )


def _csv_price(one: Line | Spare) -> tuple[Cell, ...]:
    """Pack, price of a pack, cost, days, the supplier's number."""
    cost = minor_units(one.cost_minor)
    if one.offer is None:
        return (None, None, cost, None, None)
    offer = one.offer
    return (offer.pack, minor_units(offer.price_minor), cost, offer.lead_days, offer.code)


def _csv_apart(kind: str, one: Apart) -> tuple[Cell, ...]:
    words = one.why or ORIGIN_WORDS.get(one.origin, one.origin)
    count = one.quantity or None
    return (kind, None, one.name, for_what(one.by), count, *[None] * 8, _millimetres(one.lengths), words)


def _millimetres(lengths: Iterable[float]) -> str:
    return "; ".join(f"{length * 1000:.1f}".removesuffix(".0") for length in lengths)
