"""The runs under pressure: one finished, and one with a piece too narrow beside what would cure it."""

from seed_demo import downpipe
from seed_demo.hand import Hand, Laid, typed
from server.features.designing import service as designing

OWN_TEST = typed(holds="1400 N", holds_origin="own pull test on the bench, T-bolt behind a rolled bead")
CLAMP_60 = typed(
    kind="hose and clamp", clamp="T-bolt", clamp_least="67", clamp_most="76", overlap="32", **OWN_TEST
)
CLAMP_63 = CLAMP_60 | typed(clamp_least="71", clamp_most="80")
CLAMP_70 = CLAMP_60 | typed(clamp_least="77", clamp_most="86")
WELD = typed(kind="weld", filler="4043")

SILICONE = typed(material="silicone", wall="5", rated_pressure="4 bar", rated_temperature="150 °C")


def draw(hand: Hand) -> None:
    _cooler_pipe(hand)
    _charge_pipe(hand)
    _bent_pipe(hand)
    downpipe.draw(hand)


def _cooler_pipe(hand: Hand) -> None:
    """Cooler to throttle, fitted: every check passes."""
    number = hand.design(
        "Cooler pipe",
        "Under the slam panel",
        "Cooler outlet",
        "Throttle inlet",
        CLAMP_63,
        Laid(SILICONE | typed(kind="coupler", name="Straight coupler", bore="2.5 in", length="76"), CLAMP_63),
        Laid(
            typed(
                kind="bend",
                name="Mandrel bend",
                known_by="measured",
                outside_diameter="63.5 mm",
                wall="1.5",
                bend_angle="90",
                bend_radius="95",
                length="70",
                length_out="70",
                inlet_end="bead",
                outlet_end="bead",
            ),
            CLAMP_63,
        ),
        Laid(
            SILICONE
            | typed(
                kind="hose elbow",
                name="45° elbow",
                bore="63.5",
                bend_angle="45",
                bend_radius="95",
                length="50",
                length_out="50",
            ),
            CLAMP_63,
        ),
        Laid(
            typed(
                kind="tube",
                name="Throttle tube",
                known_by="measured",
                outside_diameter="63.5",
                wall="1.5",
                length="240",
                inlet_end="bead",
                outlet_end="bead",
            ),
            CLAMP_63,
            (
                ("Bypass valve take-off", typed(at="80", bore="1 in", fixing="welded", clock="90")),
                ("Charge temperature sensor", typed(at="150", bore="10.2", fixing="welded", clock="0")),
            ),
        ),
        Laid(
            SILICONE
            | typed(kind="reducer", name="63.5 to 70 reducer", bore="63.5", bore_out="70", length="90"),
            CLAMP_70,
        ),
    )
    hand.trim(number, "Throttle tube", -17, read="11", taken_off="9 mm", note="Touches at the throttle")
    hand.trim(number, "Throttle tube", -17, read="1.5")
    reason = "Shortest way that clears the fan shroud"
    designing.choose(hand.session, hand.build_id, number, typed(because=reason), hand.moment(-16))


def _charge_pipe(hand: Hand) -> None:
    """Compressor to cooler: the bend in the middle is left over from another kit and too narrow."""
    number = hand.design(
        "Charge pipe",
        "Past the steering shaft",
        "Compressor outlet",
        "Cooler inlet",
        CLAMP_60,
        Laid(SILICONE | typed(kind="coupler", name="Straight coupler", bore="60", length="76"), CLAMP_60),
        Laid(
            typed(
                kind="tube",
                name="Compressor tube",
                known_by="measured",
                outside_diameter="60",
                wall="1.5",
                length="140",
                inlet_end="bead",
                outlet_end="weld",
            ),
            WELD,
            (("Boost signal to the gate", typed(at="70", bore="4", fixing="welded", clock="0")),),
        ),
        Laid(
            typed(
                kind="bend",
                origin="in the garage",
                name="2 in elbow from the old kit",
                known_by="measured",
                outside_diameter="2 in",
                wall="1.5",
                bend_angle="90",
                bend_radius="76",
                length="30",
                length_out="30",
                inlet_end="weld",
                outlet_end="weld",
            ),
            WELD,
        ),
        Laid(
            typed(
                kind="tube",
                name="Long tube",
                known_by="measured",
                outside_diameter="60",
                wall="1.5",
                length="380",
                inlet_end="weld",
                outlet_end="bead",
            ),
            CLAMP_60,
        ),
        Laid(
            SILICONE
            | typed(kind="reducer", name="60 to 63.5 reducer", bore="60", bore_out="63.5", length="80"),
            CLAMP_63,
        ),
    )
    shielded = typed(gap="130", protection="bright shield")
    hand.near(number, "Straight coupler", "turbine housing", name="Turbine housing", **shielded)


def _bent_pipe(hand: Hand) -> None:
    """The other way: one bought pipe with its bend in it, shortened in the long leg, at full bore."""
    number = hand.design(
        "Charge pipe",
        "Bought bent pipe, shortened",
        "Compressor outlet",
        "Cooler inlet",
        CLAMP_60,
        Laid(SILICONE | typed(kind="coupler", name="Straight coupler", bore="60", length="76"), CLAMP_60),
        Laid(
            typed(
                kind="bend",
                name="Bent pipe",
                outside_diameter="60",
                wall="1.5",
                bend_angle="90",
                bend_radius="90",
                length="150",
                length_out="600",
                inlet_end="bead",
                outlet_end="bead",
            ),
            CLAMP_60,
            (("Boost signal to the gate", typed(at="80", bore="4", fixing="welded", clock="0")),),
        ),
        Laid(
            SILICONE
            | typed(kind="reducer", name="60 to 63.5 reducer", bore="60", bore_out="63.5", length="80"),
            CLAMP_63,
        ),
    )
    hand.shorten(number, "Bent pipe", -1, take_out="210", cut_at="480", join="weld")
    hand.join(number, {"Bent pipe": WELD})
