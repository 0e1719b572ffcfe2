"""The downpipe: one that is to be built, conceded where it is tight, and a card one that showed the way."""

from seed_demo.hand import Hand, Laid, typed
from server.features.designing import service as designing
from server.features.neighbouring import service as neighbouring

V_BAND = typed(kind="V-band")
FLANGE = typed(kind="flange and gasket")
WELD = typed(kind="weld", filler="308L")
TO_MILD_STEEL = typed(kind="weld", filler="309L")

STEEL = typed(material="304 stainless", inlet_end="weld", outlet_end="weld")
TUBE = STEEL | typed(outside_diameter="76.1", wall="1.5")
BENT = "Stainless bend 76.1 × 1.5 mm, 90°, R 114"
"""Both bends are cut down from such."""

V_BAND_FLANGE = Laid(
    STEEL | typed(kind="flange", name="89 mm V-band flange", inlet_end="V-band", bore="76", length="20"),
    WELD,
    part="V-band flange 89 mm, stainless",
)
LOWER_HALF = typed(
    kind="salvaged pipe",
    name="Old front pipe, lower half",
    origin="salvaged",
    material="mild steel",
    known_by="measured",
    outside_diameter="76.1",
    wall="1.5",
    length="420",
    inlet_end="weld",
    outlet_end="flange",
)


def draw(hand: Hand) -> None:
    _two_bends(hand)
    _card(hand)


def _two_bends(hand: Hand) -> None:
    """Turbine to the centre pipe by way of the kept half of the old one: a step at the V-band, conceded."""
    number = hand.design(
        "Downpipe",
        "Two bends, flex, old lower half",
        "Turbine outlet",
        "Centre pipe flange",
        V_BAND,
        V_BAND_FLANGE,
        Laid(
            TUBE
            | typed(
                kind="bend",
                name="First bend",
                bend_angle="75",
                bend_radius="114",
                length="20",
                length_out="60",
            ),
            WELD,
            part=BENT,
        ),
        Laid(
            TUBE | typed(kind="tube", name="Down tube", length="260"),
            WELD,
            (("Oxygen sensor", typed(at="215", bore="16.5", fixing="welded", clock="-60")),),
        ),
        Laid(
            STEEL
            | typed(
                kind="flex",
                name="Lined flex",
                bore="73.1",
                outside_diameter="90",
                length="150",
                travel="30",
                liner="downstream",
                supported="on",
            ),
            WELD,
            part="Lined exhaust flex 76 mm, 150 mm",
        ),
        Laid(
            TUBE
            | typed(
                kind="bend",
                name="Second bend",
                bend_angle="60",
                bend_radius="114",
                length="40",
                length_out="40",
                roll="180",
            ),
            TO_MILD_STEEL,
            part=BENT,
        ),
        Laid(LOWER_HALF, FLANGE, part="Old front pipe, lower half"),
    )
    reason = "The flange comes in one bore. The edge is dressed to a taper before it is welded."
    designing.concede(
        hand.session, hand.build_id, number, typed(rule="steps", reason=reason), hand.moment(-4), "builder"
    )
    _stand_near(hand, number)
    chosen = typed(because="Card pipe clears starter motor and slave line this way; the old half saves a day")
    designing.choose(hand.session, hand.build_id, number, chosen, hand.moment(-4))


def _stand_near(hand: Hand, number: int) -> None:
    """What was seen along the way, and measured: shields go in, and one gap is still small."""
    ride, shielded = typed(stood="at ride height"), typed(protection="bright shield")
    hand.near(number, "First bend", "starter motor", name="Starter motor", gap="48", **shielded)
    hand.near(number, "First bend", "clutch line", name="Clutch slave line", gap="95", **shielded)
    hand.near(number, "Down tube", "brake line", name="Brake line on the bulkhead", gap="110", **shielded)
    steering = typed(what="steering shaft or rack", name="Steering shaft", gap="85", moves="12")
    hand.near(number, "Down tube", **steering, **ride, **shielded)
    tunnel = typed(what="body panel", name="Side of the tunnel", gap="140", width="120")
    hand.near(number, "Second bend", **tunnel, **shielded)
    hand.near(number, "Old front pipe, lower half", "ground", name="Ground", gap="165", moves="40", **ride)
    neighbouring.say_looked_round(hand.session, hand.build_id, number, typed(looked="yes"))


def _card(hand: Hand) -> None:
    """One long sweep, in card only: it did not clear the slave line, and nothing of it has a price."""
    hand.design(
        "Downpipe",
        "One long sweep, in card",
        "Turbine outlet",
        "Centre pipe flange",
        V_BAND,
        V_BAND_FLANGE,
        Laid(
            TUBE
            | typed(
                kind="bend",
                name="Card sweep",
                origin="mock-up",
                known_by="reckoned",
                bend_angle="70",
                bend_radius="190",
                length="30",
                length_out="120",
                offered="touches",
                offered_note="Clutch slave line, on the inside of the sweep.",
            ),
            TO_MILD_STEEL,
        ),
        Laid(LOWER_HALF | typed(length="560"), FLANGE, part="Old front pipe, lower half"),
    )
