"""The runs under pressure and the downpipe: one finished, one with a piece too narrow, one conceded."""

from seed_demo.hand import Hand, Laid, typed
from server.features.designs import service as designs

OWN_TEST = typed(holds="1400 N", holds_origin="own pull test on the bench, T-bolt behind a rolled bead")
CLAMP_60 = typed(
    kind="hose and clamp", clamp="T-bolt", clamp_least="67", clamp_most="76", overlap="32", **OWN_TEST
)
CLAMP_63 = CLAMP_60 | typed(clamp_least="71", clamp_most="80")
CLAMP_70 = CLAMP_60 | typed(clamp_least="77", clamp_most="86")
WELD = typed(kind="weld")
V_BAND = typed(kind="V-band")

SILICONE = typed(material="silicone", wall="5", rated_pressure="4 bar", rated_temperature="150 °C")


def draw(hand: Hand) -> None:
    _cooler_pipe(hand)
    _charge_pipe(hand)
    _downpipe(hand)


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
    reason = "Shortest way that clears the fan shroud"
    designs.choose(hand.session, hand.build_id, number, typed(because=reason), hand.moment(-16))


def _charge_pipe(hand: Hand) -> None:
    """Compressor to cooler: the bend in the middle is left over from another kit and too narrow."""
    hand.design(
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


BENT = "Stainless bend 76.1 × 1.5 mm, 90°, R 114"
"""Both bends of the downpipe are cut down from such."""


def _downpipe(hand: Hand) -> None:
    """Turbine to the kept half of the old pipe: a small step at the V-band, looked at and conceded."""
    steel = typed(material="304 stainless", inlet_end="weld", outlet_end="weld")
    tube = steel | typed(outside_diameter="76.1", wall="1.5")
    number = hand.design(
        "Downpipe",
        "Two bends and a flex",
        "Turbine outlet",
        "Old front pipe, lower half",
        V_BAND,
        Laid(
            steel
            | typed(kind="flange", name="89 mm V-band flange", inlet_end="V-band", bore="76", length="20"),
            WELD,
            part="V-band flange 89 mm, stainless",
        ),
        Laid(
            tube
            | typed(
                kind="bend",
                name="First bend",
                bend_angle="75",
                bend_radius="114",
                length="20",
                length_out="60",
            ),
            WELD,
            (("Oxygen sensor", typed(at="190", bore="16.5", fixing="welded", clock="-60")),),
            part=BENT,
        ),
        Laid(tube | typed(kind="tube", name="Down tube", length="260"), WELD),
        Laid(
            steel | typed(kind="flex", name="Lined flex", bore="73.1", outside_diameter="90", length="150"),
            WELD,
            part="Lined exhaust flex 76 mm, 150 mm",
        ),
        Laid(
            tube
            | typed(
                kind="bend",
                name="Second bend",
                bend_angle="60",
                bend_radius="114",
                length="40",
                length_out="40",
                roll="180",
            ),
            WELD,
            part=BENT,
        ),
    )
    reason = "The flange comes in one bore. The edge is dressed to a taper before it is welded."
    designs.concede(hand.session, hand.build_id, number, typed(rule="steps", reason=reason), hand.moment(-4))
