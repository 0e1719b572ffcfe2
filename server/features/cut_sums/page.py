"""What the cutting plan answers, and what its page says about it."""

from pydantic import BaseModel, ConfigDict, Field

from server.core.units import Kind
from server.features.bench.page import Answer, Sum, figure, price, table, word
from server.web.view import Caution

_MM = (Kind.length, "mm")


class Item(BaseModel):
    """One row of an answer."""

    model_config = ConfigDict(frozen=True)


class BarOut(Item):
    """One bar: its length, the pieces in the order of their lengths, and what is left of it [mm]."""

    stock_mm: float
    cuts_mm: tuple[float, ...]
    offcut_mm: float


class AlikeOut(Item):
    """Bars that are cut alike."""

    bars: int
    stock_mm: float
    cuts: str
    offcut_mm: float


class ShortOut(Item):
    """Pieces of one length for which there is no stock."""

    length_mm: float
    count: int


class CutPlanOut(Answer):
    """A cutting plan, and a bound that says how good any plan can be."""

    verdict: str | None = word("Plan", "The plan in words", big=True)
    bars_used: int | None = word("Bars", "Bars that are cut up, off-cuts counted")
    cost: float | None = price("Cost", "Prices added up; bars where there are none")
    lower_bound: float | None = price(
        "No plan is under", "No plan costs less; equal to the cost where the plan is the best"
    )
    alike: tuple[AlikeOut, ...] = table(
        "How to cut", (("Bars", None, ""), ("Stock", *_MM), ("Cuts", None, "mm"), ("Off-cut", *_MM)),
        "Bars that are cut alike, together",
    )  # fmt: skip
    bars: tuple[BarOut, ...] = Field(default=(), description="Bar by bar [mm]")
    offcuts_mm: float | None = figure(
        "Off-cuts together", Kind.length, "mm", "What is left of all bars, kerfs taken off [mm]"
    )
    short: tuple[ShortOut, ...] = table(
        "No stock for", (("Length", *_MM), ("Pieces", None, "")), "Pieces for which there is no stock"
    )


SAWING = Caution(
    "WARNING",
    "A saw throws short pieces: clamp both sides, eyes and ears covered, no gloves at the blade. Cut the "
    "short pieces off while the vice can still hold the bar. The saw maker's instructions, local codes and "
    "licensed practice come first.",
)

SUMS = (
    Sum(
        "cut-plan",
        "Cutting plan",
        "Which pieces to cut out of which bars, so that it costs least; off-cuts that lie there first.",
        (
            "n pieces take their lengths and n − 1 kerfs; an off-cut takes one kerf more, and what is "
            "shorter than that is dust.",
            "Least cost; the fewest bars where no stock has a price. Stock without a price beside free "
            "off-cuts counts one a bar.",
            "Whole tenths of a millimetre: pieces rounded up, stock rounded down.",
            "Exact: every pattern that a cheaper plan could have in it is tried. Where those are too many, "
            "the bound says how far off the plan can be.",
        ),
        ("cutting-stock",),
        (
            ("stock[0].length_mm", "2 m"),
            ("stock[0].price", "24.50"),
            ("stock[1].length_mm", "640 mm"),
            ("stock[1].count", "1"),
            ("stock[1].price", "0"),
            ("pieces[0].length_mm", "765 mm"),
            ("pieces[0].count", "2"),
            ("pieces[1].length_mm", "410 mm"),
            ("pieces[1].count", "3"),
            ("pieces[2].length_mm", "205 mm"),
            ("pieces[2].count", "2"),
            ("kerf_mm", "3 mm"),
        ),
        SAWING,
    ),
)
"""The sum in words."""
