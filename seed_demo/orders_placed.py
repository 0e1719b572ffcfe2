"""What was ordered from four invented suppliers, what arrived of it, and what went back."""

from dataclasses import asdict, dataclass

from seed_demo.hand import Hand, typed
from seed_demo.offers import CORVID, MILLRACE, TARN, UNDERHILL
from seed_demo.part_list import PARTS
from server.features.orders import forms as order_forms
from server.features.orders import service as orders
from server.features.parcels import forms as parcel_forms
from server.features.parcels import service as parcels

CAME_AT = "17:40"


@dataclass(frozen=True, slots=True)
class Came:
    """What arrived of one line: all of it unless a number is given."""

    day: int
    part: str
    quantity: str = ""
    condition: str = "right"


@dataclass(frozen=True, slots=True)
class Ordered:
    """One order; days count from today. `all_came`: the day on which all of it arrived, where it did.

    said: of the parcel it came in; cancelled: parts of it that will not come; back: the part of it that was
    sent back because it was wrong, and the day.
    """

    supplier: str
    day: int
    due: int
    postage: str
    lines: tuple[tuple[str, int], ...]
    all_came: int | None = None
    came: tuple[Came, ...] = ()
    note: str = ""
    said: str = ""
    cancelled: tuple[str, ...] = ()
    back: tuple[str, int, str] | None = None


ORDERS = (
    Ordered(
        CORVID,
        -42,
        -36,
        "4.90",
        (
            ("Manifold stud M8 × 45", 10),
            ("Copper-plated flange nut M8", 12),
            ("Copper washer 12 mm", 6),
            ("Copper washer 14 mm", 4),
            ("Banjo bolt M12 × 1.25", 1),
            ("Banjo bolt M14 × 1.5", 1),
        ),
        all_came=-37,
    ),
    Ordered(
        UNDERHILL,
        -41,
        -35,
        "8.50",
        (
            ("Manifold gasket, multi-layer", 1),
            ("Turbine inlet gasket", 1),
            ("Oil feed line, braided PTFE, 600 mm", 1),
        ),
        all_came=-34,
    ),
    Ordered(
        TARN,
        -30,
        -22,
        "6.90",
        (
            ("Silicone coupler 63.5 mm", 1),
            ("Silicone elbow 63.5 mm, 45°", 1),
            ("Silicone reducer 63.5 to 70 mm", 1),
            ("T-bolt clamp 71–80 mm", 7),
            ("T-bolt clamp 77–86 mm", 1),
            ("Heater hose 16 mm, EPDM, 1 m", 2),
            ("Hose clamp 16–27 mm, rolled edge", 12),
        ),
        all_came=-21,
    ),
    Ordered(
        MILLRACE,
        -29,
        -20,
        "11.00",
        (
            ("Aluminium tube 63.5 × 1.5 mm, 500 mm", 1),
            ("Aluminium bend 63.5 × 1.5 mm, 90°, R 95", 1),
            ("Aluminium tube 60 × 1.5 mm, 1 m", 1),
            ("Aluminium tube 80 × 2 mm, 500 mm", 1),
            ("Aluminium tube 101.6 × 2 mm, 250 mm", 1),
            ("Aluminium bung, 25.4 mm bore", 2),
            ("Aluminium bung, 19 mm bore", 1),
            ("Aluminium nipple, 4 mm bore", 1),
            ("Sensor boss M12 × 1.5, aluminium", 1),
        ),
        all_came=-19,
    ),
    Ordered(
        UNDERHILL,
        -20,
        -3,
        "8.50",
        (
            ("V-band flange 89 mm, stainless", 1),
            ("V-band clamp 89 mm", 1),
            ("Oil drain flange, 38 mm bolt spacing", 1),
            ("Oil drain gasket", 2),
            ("Oxygen sensor boss M18 × 1.5, stepped", 1),
        ),
        came=(
            Came(-4, "V-band flange 89 mm, stainless"),
            Came(-4, "V-band clamp 89 mm"),
            Came(
                -4,
                "Oil drain flange, 38 mm bolt spacing",
                "1",
                "wrong",
            ),
            Came(-4, "Oil drain gasket"),
            Came(-4, "Oxygen sensor boss M18 × 1.5, stepped"),
        ),
        note="Castings are made to order; they rang to say it would be a week longer.",
        said="In this parcel the drain flange is another one: bolt holes 44 mm apart, not 38.",
        back=("Oil drain flange, 38 mm bolt spacing", -3, "With the gasket as a template in the box."),
    ),
    Ordered(
        TARN,
        -14,
        -2,
        "6.90",
        (
            ("Lined silicone coupler 80 mm", 1),
            ("Lined silicone elbow 80 mm, 90°", 1),
            ("101.6 to 80 mm reducer, lined silicone", 1),
            ("Lined silicone coupler 101.6 mm", 1),
            ("Lined worm-drive clamp 80–100 mm", 6),
            ("Lined worm-drive clamp 100–125 mm", 4),
            ("Silicone coupler 60 mm", 1),
            ("Silicone reducer 60 to 63.5 mm", 1),
            ("T-bolt clamp 67–76 mm", 4),
            ("Signal hose 4 mm, 2 m", 1),
            ("Spring clip 8 mm", 6),
            ("Breather hose 19 mm, FKM lined, 1 m", 1),
        ),
        came=(
            Came(-3, "Lined silicone coupler 80 mm"),
            Came(-3, "Lined silicone elbow 80 mm, 90°"),
            Came(-3, "Lined silicone coupler 101.6 mm"),
            Came(-3, "Lined worm-drive clamp 80–100 mm", "4"),
            Came(-3, "Lined worm-drive clamp 100–125 mm"),
            Came(-3, "Silicone coupler 60 mm"),
            Came(-3, "Silicone reducer 60 to 63.5 mm"),
            Came(-3, "T-bolt clamp 67–76 mm"),
            Came(-3, "Signal hose 4 mm, 2 m"),
            Came(-3, "Spring clip 8 mm"),
            Came(-3, "Breather hose 19 mm, FKM lined, 1 m"),
        ),
        note="The reducer is to follow in a second parcel.",
        said="In this parcel four of the six 80–100 clamps.",
    ),
    Ordered(
        MILLRACE,
        -9,
        2,
        "14.00",
        (
            ("Stainless bend 76.1 × 1.5 mm, 90°, R 114", 3),
            ("Stainless tube 76.1 × 1.5 mm, 1 m", 1),
            ("Lined exhaust flex 76 mm, 150 mm", 1),
        ),
        note="Three bends for two: one spare for the Saturday.",
    ),
    Ordered(
        CORVID,
        -5,
        1,
        "4.90",
        (
            ("Wide band clamp 76 mm, stainless", 1),
            ("Exhaust hanger rubber", 2),
            ("Stainless bolt M8 × 25", 12),
            ("Self-locking nut M8", 12),
            ("P-clip 10 mm, rubber lined", 8),
            ("Copper washer 14 mm", 4),
            ("Constant-tension clamp 20–27 mm", 4),
        ),
        note="Band clamp called off: the old pipe keeps its flange.",
        cancelled=("Wide band clamp 76 mm, stainless",),
    ),
)


def buy(hand: Hand) -> None:
    """Every order, and what arrived of it."""
    prices = {name: price for named in PARTS.values() for name, price in named}
    for ordered in ORDERS:
        _order(hand, ordered, prices)


def _order(hand: Hand, ordered: Ordered, prices: dict[str, str]) -> None:
    session, build_id = hand.session, hand.build_id
    asked_at = hand.moment(ordered.day)
    on_form, later = ordered.lines[: order_forms.NEW_LINES], ordered.lines[order_forms.NEW_LINES :]
    fields = {
        "supplier": ordered.supplier,
        "ordered_on": hand.day(ordered.day),
        "due_on": hand.day(ordered.due),
        "postage": ordered.postage,
        "note": ordered.note,
    }
    for number, (part, quantity) in enumerate(on_form, start=1):
        fields |= {
            f"part_{number}": part,
            f"quantity_{number}": str(quantity),
            f"price_{number}": prices[part],
        }
    new = order_forms.new_order(fields, asked_at.date(), "EUR")
    more = [
        order_forms.line_form(typed(part=part, quantity=str(quantity), price=prices[part]), "EUR")
        for part, quantity in later
    ]
    lines = [
        orders.NewLine(hand.parts[line.part_name], line.quantity, line.price_minor, line.pack)
        for line in (*new.lines, *more)
    ]
    order_id = orders.place_order(session, build_id, **asdict(new.form), lines=lines)
    _deliver(hand, ordered, order_id)


def _deliver(hand: Hand, ordered: Ordered, order_id: int) -> None:
    """What came of an order, all in one parcel; then what will not come, and what went back."""
    session, build_id = hand.session, hand.build_id
    order = orders.order_face(session, build_id, order_id)
    lines = {line.part_name: line for line in order.lines}
    if ordered.all_came is not None:
        parcels.note_parcel(
            session, build_id, order_id, typed(all="on"), hand.moment(ordered.all_came, CAME_AT)
        )
    if ordered.came:
        fields = {
            f"{one.condition}_{lines[one.part].id}": one.quantity or str(lines[one.part].quantity)
            for one in ordered.came
        }
        at = hand.moment(ordered.came[0].day, CAME_AT)
        parcels.note_parcel(session, build_id, order_id, fields | typed(note=ordered.said), at)
    for part in ordered.cancelled:
        parcels.call_off(session, build_id, lines[part].id, typed(quantity=str(lines[part].quantity)))
    if ordered.back is not None:
        part, day, note = ordered.back
        fields = typed(quantity="1", condition="wrong", wants="replacement", sent_on=hand.day(day), note=note)
        form = parcel_forms.sending_back(fields, hand.now.date())
        parcels.send_back(session, build_id, lines[part].id, form, fields, hand.moment(day))
