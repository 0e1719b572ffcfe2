"""What the build is made of: what is bought, and what lies on the shelf."""

from seed_demo.hand import Hand
from seed_demo.offers import KNOWN_AS
from server.features.parts import forms as part_forms
from server.features.parts import service as parts

PARTS = {
    "coupler": (
        ("Silicone coupler 60 mm", "9.80"),
        ("Silicone coupler 63.5 mm", "9.90"),
        ("Silicone reducer 60 to 63.5 mm", "14.20"),
        ("Silicone reducer 63.5 to 70 mm", "14.90"),
        ("Lined silicone coupler 80 mm", "21.00"),
        ("Lined silicone coupler 101.6 mm", "26,00"),
        ("101.6 to 80 mm reducer, lined silicone", "41.50"),
    ),
    "hose": (
        ("Silicone elbow 63.5 mm, 45°", "18.50"),
        ("Lined silicone elbow 80 mm, 90°", "38.00"),
        ("Breather hose 19 mm, FKM lined, 1 m", "27.00"),
        ("Bypass hose 25 mm, lined silicone, 0.5 m", "19.00"),
        ("Oil drain hose 19 mm, FKM lined, 0.5 m", "34.00"),
        ("Oil feed line, braided PTFE, 600 mm", "39.00"),
        ("Heater hose 16 mm, EPDM, 1 m", "6.20"),
        ("Signal hose 4 mm, 2 m", "7.40"),
        ("Vacuum hose 9 mm, 1 m", "5.80"),
        ("Fuel hose 8 mm, injection grade, 1 m", "9.60"),
    ),
    "clamp": (
        ("T-bolt clamp 67–76 mm", "4.60"),
        ("T-bolt clamp 71–80 mm", "4.60"),
        ("T-bolt clamp 77–86 mm", "4.90"),
        ("Lined worm-drive clamp 80–100 mm", "2.40"),
        ("Lined worm-drive clamp 100–125 mm", "2.70"),
        ("Hose clamp 16–27 mm, rolled edge", "0.95"),
        ("Spring clip 8 mm", "0.35"),
        ("Wide band clamp 76 mm, stainless", "11.50"),
        ("Constant-tension clamp 20–27 mm", "1.10"),
        ("Hose clamp 25–40 mm, rolled edge", "1.05"),
        ("Fuel hose clamp 13–15 mm", "0.80"),
    ),
    "tube": (
        ("Aluminium tube 63.5 × 1.5 mm, 500 mm", "17.00"),
        ("Aluminium tube 60 × 1.5 mm, 1 m", "24.00"),
        ("Aluminium tube 80 × 2 mm, 500 mm", "23.00"),
        ("Aluminium tube 101.6 × 2 mm, 250 mm", "19.00"),
        ("Stainless tube 76.1 × 1.5 mm, 1 m", "31.00"),
        ("Lined exhaust flex 76 mm, 150 mm", "46.00"),
    ),
    "bend": (
        ("Aluminium bend 63.5 × 1.5 mm, 90°, R 95", "22.00"),
        ("Aluminium bend 60 × 1.5 mm, 90°, R 90", "21.50"),
        ("Stainless bend 76.1 × 1.5 mm, 90°, R 114", "27.00"),
    ),
    "fitting": (
        ("Aluminium bung, 25.4 mm bore", "4.80"),
        ("Aluminium bung, 19 mm bore", "4.40"),
        ("Aluminium nipple, 4 mm bore", "3.10"),
        ("Sensor boss M12 × 1.5, aluminium", "5.20"),
        ("Oxygen sensor boss M18 × 1.5, stepped", "9.00"),
        ("Oil pan weld-in fitting 19 mm", "14.00"),
        ("Banjo bolt M12 × 1.25", "5.50"),
        ("Banjo bolt M14 × 1.5", "6.10"),
        ("Heater tee 16 mm", "8.30"),
        ("Check valve for the servo line", "11.90"),
        ("Fuel filter, 8 mm", "16.40"),
    ),
    "flange": (
        ("V-band flange 89 mm, stainless", "29.00"),
        ("V-band clamp 89 mm", "24.00"),
        ("Oil drain flange, 38 mm bolt spacing", "18.00"),
    ),
    "gasket": (
        ("Manifold gasket, multi-layer", "32.00"),
        ("Turbine inlet gasket", "12.50"),
        ("Oil drain gasket", "3.40"),
        ("Copper washer 12 mm", "0.30"),
        ("Copper washer 14 mm", "0.30"),
    ),
    "other": (("Heat barrier tape 50 mm, 5 m", "18.50"),),
    "fastener": (
        ("Manifold stud M8 × 45", "1.90"),
        ("Copper-plated flange nut M8", "0.85"),
        ("Stainless bolt M8 × 25", "0.60"),
        ("Self-locking nut M8", "0.45"),
        ("P-clip 10 mm, rubber lined", "0.90"),
        ("Exhaust hanger rubber", "3.80"),
        ("Stainless tie 4.6 × 200 mm", "0.40"),
    ),
}
"""Parts to buy by kind, with the price of one."""

ON_THE_SHELF = (
    ("Heat sleeve 25 mm, 1 m", "other", "12.00", 1),
    ("Spark plug, one step colder", "other", "8.90", 4),
    ("Engine oil, 5 l can", "fluid", "36.00", 1),
    ("Oil filter", "other", "7.50", 1),
    ("Coolant concentrate, 1.5 l", "fluid", "11.00", 2),
    ("Oil pan sealant, 70 ml", "fluid", "9.00", 1),
    ("Penetrating fluid, 400 ml", "fluid", "6.50", 1),
    ("Wideband sensor and controller", "sensor", "145.00", 1),
    ("Charge temperature sensor", "sensor", "24.00", 1),
    ("Boost control solenoid", "sensor", "38.00", 1),
    ("Stainless sheet 0.5 mm, 300 × 400 mm", "other", "14.00", 1),
    ("Stainless tie 8 × 300 mm", "fastener", "0.70", 20),
    ("Welding wire 4043, 1.6 mm, 1 kg", "other", "19.00", 1),
    ("Welding wire 308L, 1.6 mm, 1 kg", "other", "24.00", 1),
    ("Copper paste, 100 g", "fluid", "8.00", 1),
    ("Boost gauge, mechanical", "sensor", "42.00", 1),
    ("Paint marker, yellow", "other", "3.20", 2),
    ("Rubber plug set, 20 to 80 mm", "other", "12.00", 1),
    ("Thread insert set M6", "other", "16.00", 1),
    ("Left-hand drill 6.8 mm", "other", "5.40", 1),
    ("Brake cleaner, 500 ml", "fluid", "3.90", 3),
    ("Welding wire 309L, 1.6 mm, 0.5 kg", "other", "15.00", 1),
    ("Exhaust hanger, weld-on, 12 mm", "fastener", "4.20", 1),
)


def list_parts(hand: Hand) -> None:
    """Every part that the build is known to want."""
    for kind, named in PARTS.items():
        for name, price in named:
            _part(hand, name=name, kind=kind, price=price)
    for name, kind, price, count in ON_THE_SHELF:
        _part(hand, name=name, kind=kind, price=price, count=str(count))
    _part(
        hand,
        name="Bypass valve, 25 mm",
        kind="fitting",
        origin="borrowed",
        tried="not tried",
        count="1",
        note="On loan from a friend's estate car. Hose ends not seen yet.",
    )
    _part(hand, name="Old front pipe, lower half", kind="tube", origin="salvage", count="1")
    _part(hand, name="Thrust bracket for the long tube", kind="other", origin="make")


def _part(hand: Hand, **fields: str) -> None:
    new = part_forms.new_part(fields | KNOWN_AS.get(fields["name"], {}))
    hand.parts[new.form.name] = parts.add_part(hand.session, hand.build_id, new)
