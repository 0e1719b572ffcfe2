"""Every opening of the build, and what was read on it: with which instrument, in which unit, how well."""

from seed_demo.hand import Hand

CALIPER = "digital_caliper"
VERNIER = "vernier_caliper"


def measure(hand: Hand) -> None:
    """Ports first, as on the walk round the car; then the readings, evening by evening."""
    _air_side(hand)
    _hot_side(hand)
    _oil_and_water(hand)
    _small_lines(hand)
    _read_air_side(hand)
    _read_hot_side(hand)
    _read_oil_and_water(hand)


def _air_side(hand: Hand) -> None:
    hand.port(
        "Air meter outlet",
        medium="air, at the air meter",
        frame="body",
        shape="spigot",
        end_form="bead",
        material="plastic",
        facing="rear",
    )
    hand.port(
        "Compressor inlet",
        frame="engine",
        shape="spigot",
        end_form="bead",
        material="aluminium",
        facing="front",
    )
    hand.port(
        "Crankcase breather",
        "Intake",
        role="side port",
        shape="hose",
        medium="crankcase breather",
        stretch="between air meter and compressor",
        note="From the rocker cover. Oil mist: lined hose after it.",
    )
    hand.port(
        "Bypass return",
        "Intake",
        role="side port",
        shape="hose",
        stretch="between air meter and compressor",
        note="Counted air: it goes back in after the meter. Valve comes on loan, hose end not seen yet.",
    )
    hand.port(
        "Compressor outlet",
        frame="engine",
        shape="spigot",
        end_form="bead",
        material="aluminium",
        facing="left, down",
    )
    hand.port(
        "Cooler inlet", frame="body", shape="spigot", end_form="bead", material="aluminium", facing="left"
    )
    hand.port(
        "Boost signal to the gate",
        "Charge pipe",
        role="side port",
        shape="hose",
        medium="boost or vacuum signal",
        stretch="between compressor and throttle",
        note="Clip both ends; never tee a gauge into it.",
    )
    hand.port(
        "Cooler outlet", frame="body", shape="spigot", end_form="bead", material="aluminium", facing="right"
    )
    hand.port(
        "Throttle inlet",
        frame="engine",
        shape="spigot",
        end_form="bead",
        material="aluminium",
        facing="front",
    )
    hand.port(
        "Bypass valve take-off",
        "Cooler pipe",
        role="side port",
        shape="hose",
        stretch="between compressor and throttle",
    )
    hand.port(
        "Charge temperature sensor",
        "Cooler pipe",
        role="side port",
        shape="hole",
        stretch="between cooler and throttle",
        note="M12 × 1.5 boss, tip in the stream.",
    )


def _hot_side(hand: Hand) -> None:
    hand.port(
        "Turbine outlet",
        frame="engine",
        shape="V-band",
        medium="exhaust gas",
        material="cast iron",
        facing="rear, down",
        note="89 mm V-band. The gate's flap swings out past the face: nothing of the pipe may reach in.",
    )
    hand.port(
        "Centre pipe flange",
        frame="body",
        shape="flange",
        medium="exhaust gas",
        material="steel",
        facing="front",
        note="From here back the exhaust stays. The old front pipe bolts to it; its lower half is kept.",
    )
    hand.port(
        "Oxygen sensor",
        "Downpipe",
        role="side port",
        shape="hole",
        medium="exhaust gas",
        note="Boss in the upper half, tip at least 10° down, well after the turbine.",
    )


def _oil_and_water(hand: Hand) -> None:
    hand.port("Oil feed at the block", shape="hole", end_form="thread", medium="oil", material="cast iron")
    hand.port("Oil feed at the turbo", shape="hole", end_form="thread", medium="oil", material="cast iron")
    hand.port("Oil drain of the turbo", shape="flange", medium="oil", material="cast iron", facing="down")
    hand.port(
        "Oil pan return",
        shape="hole",
        medium="oil",
        material="steel",
        facing="left",
        note="Must enter above the oil level, clear of the starter motor.",
    )
    hand.port("Coolant in at the turbo", shape="hole", end_form="thread", medium="coolant")
    hand.port("Coolant out to the heater tee", shape="spigot", end_form="barb", medium="coolant", facing="up")
    water = {"shape": "spigot", "end_form": "bead", "medium": "coolant"}
    hand.port("Heater outlet of the head", "Heater hoses", frame="engine", facing="rear", **water)
    hand.port("Heater matrix inlet", "Heater hoses", frame="body", facing="front", **water)


def _small_lines(hand: Hand) -> None:
    signal = {"shape": "spigot", "end_form": "barb", "medium": "boost or vacuum signal"}
    hand.port("Gate actuator", "Wastegate and boost control", frame="engine", **signal)
    hand.port(
        "Boost solenoid",
        "Wastegate and boost control",
        frame="body",
        note="Three nipples: source, gate, vent. Tagged, the vent end stays open.",
        **signal,
    )
    hand.port("Servo take-off at the manifold", "Vacuum and signal lines", frame="engine", **signal)
    hand.port("Bypass valve outlet", "Bypass valve return", frame="engine", shape="spigot", facing="down")
    hand.port(
        "Rocker cover breather", "Breather", shape="spigot", medium="crankcase breather", frame="engine"
    )
    hand.port(
        "Fuel rail inlet", "Fuel supply", shape="spigot", end_form="barb", medium="fuel", frame="engine"
    )


def _read_air_side(hand: Hand) -> None:
    hand.reading(-24, "Air meter outlet", "outside_diameter", "80.0 mm", CALIPER)
    hand.reading(-24, "Air meter outlet", "circumference", "254.5 mm", "string")
    hand.reading(-24, "Air meter outlet", "wall", "2,5 mm", CALIPER)
    hand.reading(-24, "Air meter outlet", "length", "1 5/8 in", "rule")
    hand.reading(-24, "Compressor inlet", "outside_diameter", "4 in", "makers_figure")
    hand.reading(-24, "Compressor inlet", "outside_diameter", "101.6 mm", CALIPER)
    hand.reading(-24, "Compressor inlet", "wall", "3.0 mm", CALIPER)
    hand.reading(-24, "Compressor inlet", "length", "42 mm", CALIPER)
    hand.reading(
        -23,
        "Compressor inlet",
        "gap",
        "22 mm",
        "rule",
        stance="on_stands",
        engine_state="cold",
        seen_from="above",
        reading_note="Spigot to brake servo hose.",
    )
    hand.reading(-23, "Compressor outlet", "outside_diameter", "60.0 mm", CALIPER)
    hand.reading(-23, "Compressor outlet", "wall", "1.5 mm", CALIPER)
    hand.reading(-23, "Compressor outlet", "length", "40 mm", CALIPER)
    hand.reading(-23, "Cooler inlet", "outside_diameter", "2.5 in", CALIPER)
    hand.reading(-23, "Cooler inlet", "wall", "2 mm", CALIPER)
    hand.reading(-23, "Cooler inlet", "length", "45 mm", VERNIER)
    hand.reading(-23, "Cooler outlet", "outside_diameter", "63.5 mm", CALIPER)
    hand.reading(-23, "Cooler outlet", "outside_diameter", "63.4 mm", VERNIER)
    hand.reading(-23, "Cooler outlet", "wall", "2.5 mm", CALIPER)
    hand.reading(-23, "Cooler outlet", "length", "45 mm", VERNIER)
    hand.reading(-22, "Throttle inlet", "outside_diameter", "70.0 mm", CALIPER)
    hand.reading(-22, "Throttle inlet", "wall", "3 mm", CALIPER)
    hand.reading(-22, "Throttle inlet", "length", "1 1/2 in", CALIPER)
    hand.reading(-22, "Crankcase breather", "bore", "19 mm", CALIPER)
    hand.reading(-22, "Bypass valve take-off", "bore", "1 in", CALIPER)
    hand.reading(-22, "Charge temperature sensor", "bore", "10.2 mm", CALIPER)
    hand.reading(-15, "Boost signal to the gate", "bore", "4 mm", "bore_gauge")


def _read_hot_side(hand: Hand) -> None:
    hand.reading(-20, "Turbine outlet", "bore", "72.5 mm", CALIPER)
    hand.reading(-20, "Turbine outlet", "outside_diameter", "89 mm", VERNIER)
    hand.reading(-20, "Centre pipe flange", "bore", "73.0 mm", CALIPER)
    hand.reading(-20, "Centre pipe flange", "outside_diameter", "110 mm", VERNIER)
    hand.reading(
        -20,
        "Centre pipe flange",
        "bore",
        "72.1 mm",
        VERNIER,
        reading_note="Rust under the jaws? Brush it and read again.",
    )
    hand.reading(-20, "Oxygen sensor", "bore", "16.4 mm", CALIPER)
    hand.reading(
        -19,
        "Turbine outlet",
        "gap",
        "5/8 in",
        "feel",
        stance="ride_height",
        engine_state="cold",
        seen_from="below",
        reading_note="V-band clamp to steering shaft, wheels straight. Not read at full lock yet.",
    )
    hand.reading(
        -5,
        "Turbine outlet",
        "mock_up",
        "clutch slave line",
        "",
        mock_up="touches",
        stance="on_stands",
        engine_state="cold",
        seen_from="below",
        reading_note="Card pipe, first bend. Clocked 15° further out it clears the starter motor too.",
    )


def _read_oil_and_water(hand: Hand) -> None:
    hand.reading(-18, "Oil feed at the block", "bore", "8,5 mm", CALIPER)
    hand.reading(-18, "Oil feed at the turbo", "bore", "6.8 mm", CALIPER)
    hand.reading(-18, "Oil drain of the turbo", "bore", "18 mm", CALIPER)
    hand.reading(
        -18,
        "Oil drain of the turbo",
        "mock_up",
        "15 mm",
        "",
        mock_up="short",
        stance="on_stands",
        engine_state="cold",
        seen_from="below",
        reading_note="Old heater hose offered up to the pan.",
    )
    hand.reading(-17, "Coolant in at the turbo", "bore", "12.2 mm", CALIPER)
    hand.reading(
        -17,
        "Coolant out to the heater tee",
        "outside_diameter",
        "16 mm",
        "feel",
        reading_note="Behind the bell housing, two fingers and a guess.",
    )
    hand.reading(-17, "Coolant out to the heater tee", "wall", "1 mm", "makers_figure")
    for port in ("Heater outlet of the head", "Heater matrix inlet"):
        hand.reading(-16, port, "outside_diameter", "16.3 mm", CALIPER)
        hand.reading(-16, port, "wall", "1 mm", CALIPER)
        hand.reading(-16, port, "length", "32 mm", "rule")
    hand.reading(-16, "Rocker cover breather", "outside_diameter", "19.2 mm", CALIPER)
    hand.reading(-16, "Gate actuator", "outside_diameter", "4.6 mm", CALIPER)
