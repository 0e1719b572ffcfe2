"""The old intake as a pattern, and two designs side by side; one line that joins them is not measured yet."""

from seed_demo.hand import Hand, Laid, typed
from server.features.designing import service as designing

CLAMP_80 = typed(
    kind="hose and clamp", clamp="lined worm drive", clamp_least="80", clamp_most="100", overlap="32"
)
CLAMP_76 = CLAMP_80 | typed(clamp_least="76", clamp_most="96")
CLAMP_101 = CLAMP_80 | typed(clamp_least="100", clamp_most="125")

HOSE = typed(
    material="lined silicone",
    wall="5",
    rated_pressure="2 bar",
    rated_temperature="150 °C",
    reinforced="on",
)
TUBE = typed(kind="tube", known_by="measured", inlet_end="bead", outlet_end="bead", wall="2")
BREATHER = ("Crankcase breather", typed(at="85", bore="3/4 in", fixing="welded", clock="0"))
BYPASS = ("Bypass return", typed(at="75", bore="25.4", fixing="welded", clock="90"))


def draw(hand: Hand) -> None:
    chosen = _bought_elbow(hand)
    _old_pipe(hand)
    reason = "Lined hose all the way, and it comes off without touching the old pipe"
    designing.choose(hand.session, hand.build_id, chosen, typed(because=reason), hand.moment(-3))


def _bought_elbow(hand: Hand) -> int:
    return hand.design(
        "Intake",
        "Bought elbow and two tubes",
        "Air meter outlet",
        "Compressor inlet",
        CLAMP_80,
        Laid(HOSE | typed(kind="coupler", name="Straight coupler", bore="80", length="76"), CLAMP_80),
        Laid(TUBE | typed(name="Breather tube", outside_diameter="80", length="170"), CLAMP_80, (BREATHER,)),
        Laid(
            HOSE
            | typed(
                kind="hose elbow",
                name="90° elbow",
                bore="80",
                bend_angle="90",
                bend_radius="110",
                length="60",
                length_out="60",
            ),
            CLAMP_80,
        ),
        Laid(TUBE | typed(name="Bypass tube", outside_diameter="80", length="150"), CLAMP_80, (BYPASS,)),
        Laid(
            HOSE
            | typed(kind="reducer", name="80 to 101.6 reducer", bore="80", bore_out="101.6", length="100"),
            CLAMP_101,
        ),
        Laid(TUBE | typed(name="Inlet stub", outside_diameter="4 in", length="90"), CLAMP_101),
        Laid(
            HOSE | typed(kind="coupler", name="Straight coupler, large", bore="101.6", length="80"), CLAMP_101
        ),
    )


def _old_pipe(hand: Hand) -> None:
    """The old intake kept as a pattern, and a copy of it cut down: narrower, and full of joints."""
    pattern = hand.design(
        "Intake",
        "Old intake, as it came off",
        "Air meter outlet",
        "Compressor inlet",
        CLAMP_76,
        Laid(
            typed(
                kind="salvaged pipe",
                name="Old intake pipe",
                material="plastic",
                known_by="measured",
                outside_diameter="76",
                wall="2.5",
                length="390",
                inlet_end="bead",
                outlet_end="bead",
            ),
            CLAMP_76,
            (
                ("Crankcase breather", typed(at="120", bore="19", fixing="moulded")),
                ("Bypass return", typed(at="280", bore="25", fixing="moulded")),
            ),
        ),
        pattern=True,
    )
    copy = hand.design_from(pattern, "Intake", "Old pipe cut down")
    hand.lay(
        copy,
        "start",
        HOSE | typed(kind="reducer", name="80 to 76 reducer", bore="80", bore_out="76", length="90"),
    )
    hand.lay(
        copy,
        "",
        HOSE | typed(kind="reducer", name="76 to 101.6 reducer", bore="76", bore_out="101.6", length="127"),
    )
    hand.shorten(copy, "Old intake pipe", -3, take_out="60", cut_at="168", join="coupler")
    hand.join(
        copy,
        {
            "start": CLAMP_80,
            "80 to 76 reducer": CLAMP_76,
            "Old intake pipe": CLAMP_76,
            "": CLAMP_76,
            "Old intake pipe, after the cut": CLAMP_76,
            "76 to 101.6 reducer": CLAMP_101,
        },
    )
