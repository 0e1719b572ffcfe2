"""Who sells what to the build and for how much, which parts runs call by another name, and the spares."""

from seed_demo.hand import Hand, Typed, typed
from server.features.suppliers import forms, service

TARN = "Tarn Hose & Clamp"
MILLRACE = "Millrace Tube"
CORVID = "Corvid Fasteners"
UNDERHILL = "Underhill Castings"

SUPPLIERS = (
    typed(name=TARN, postage="4.90", lead_days="5", note="Answers the telephone until six."),
    typed(name=MILLRACE, postage="14.00", lead_days="12", note="Tube is cut to two metres at most."),
    typed(name=CORVID, postage="3.50", lead_days="3"),
    typed(name=UNDERHILL, postage="9.00", lead_days="14"),
)

KNOWN_AS: dict[str, Typed] = {
    "Silicone coupler 60 mm": typed(spec="silicone coupler, 60 mm bore, 76 mm long"),
    "Silicone coupler 63.5 mm": typed(spec="silicone coupler, 63.5 mm bore, 76 mm long"),
    "Silicone reducer 60 to 63.5 mm": typed(spec="silicone reducer, 60 mm to 63.5 mm bore, 80 mm long"),
    "Silicone reducer 63.5 to 70 mm": typed(spec="silicone reducer, 63.5 mm to 70 mm bore, 90 mm long"),
    "Lined silicone coupler 80 mm": typed(spec="lined silicone coupler, 80 mm bore, 76 mm long"),
    "Lined silicone coupler 101.6 mm": typed(spec="lined silicone coupler, 101.6 mm bore, 80 mm long"),
    "101.6 to 80 mm reducer, lined silicone": typed(
        spec="lined silicone reducer, 80 mm to 101.6 mm bore, 100 mm long"
    ),
    "Silicone elbow 63.5 mm, 45°": typed(spec="silicone hose elbow, 63.5 mm bore, 45°, legs 50 mm"),
    "Lined silicone elbow 80 mm, 90°": typed(spec="lined silicone hose elbow, 80 mm bore, 90°, legs 60 mm"),
    "T-bolt clamp 67–76 mm": typed(spec="T-bolt clamp, 67 to 76 mm"),
    "T-bolt clamp 71–80 mm": typed(
        spec="T-bolt clamp, 71 to 80 mm",
        spares="2",
        spare_reason="a stripped thread on a Saturday costs the weekend",
    ),
    "T-bolt clamp 77–86 mm": typed(spec="T-bolt clamp, 77 to 86 mm"),
    "Lined worm-drive clamp 80–100 mm": typed(spec="lined worm drive clamp, 80 to 100 mm"),
    "Lined worm-drive clamp 100–125 mm": typed(spec="lined worm drive clamp, 100 to 125 mm"),
    "Aluminium tube 63.5 × 1.5 mm, 500 mm": typed(
        spec="aluminium tube, 63.5 × 1.5 mm", stock_length="500 mm"
    ),
    "Aluminium tube 60 × 1.5 mm, 1 m": typed(spec="aluminium tube, 60 × 1.5 mm", stock_length="1 m"),
    "Aluminium tube 80 × 2 mm, 500 mm": typed(spec="aluminium tube, 80 × 2 mm", stock_length="500 mm"),
    "Aluminium tube 101.6 × 2 mm, 250 mm": typed(spec="aluminium tube, 101.6 × 2 mm", stock_length="250 mm"),
    "Stainless tube 76.1 × 1.5 mm, 1 m": typed(spec="304 stainless tube, 76.1 × 1.5 mm", stock_length="1 m"),
    "Aluminium bend 63.5 × 1.5 mm, 90°, R 95": typed(spec="aluminium bend, 63.5 × 1.5 mm, 90°, radius 95 mm"),
    "Aluminium bung, 25.4 mm bore": typed(spec="aluminium weld bung, 25.4 mm bore"),
    "Aluminium bung, 19 mm bore": typed(spec="aluminium weld bung, 19 mm bore"),
    "Aluminium nipple, 4 mm bore": typed(spec="aluminium weld bung, 4 mm bore"),
    "Sensor boss M12 × 1.5, aluminium": typed(spec="aluminium weld bung, 10.2 mm bore"),
    "Oxygen sensor boss M18 × 1.5, stepped": typed(spec="304 stainless weld bung, 16.5 mm bore"),
    "V-band clamp 89 mm": typed(spec="V-band clamp, 89 mm"),
    "Turbine inlet gasket": typed(spares="1", spare_reason="it crushes once, and the manifold may come off"),
    "Copper washer 14 mm": typed(spares="4", spare_reason="each loosened banjo takes two new ones"),
}
"""By a part's name: further fields of its form. `spec` is what the runs of the chosen designs call it."""

OFFERS = (
    ("Bypass hose 25 mm, lined silicone, 0.5 m", TARN, typed(price="19.00", code="BH-25-05")),
    ("Bypass hose 25 mm, lined silicone, 0.5 m", CORVID, typed(price="21.40")),
    ("Oil drain hose 19 mm, FKM lined, 0.5 m", TARN, typed(price="34.00", code="OD-19")),
    ("Heater tee 16 mm", TARN, typed(price="8.30")),
    ("Oil pan weld-in fitting 19 mm", UNDERHILL, typed(price="14.00", lead_days="8")),
    ("T-bolt clamp 71–80 mm", TARN, typed(price="4.60", code="TB-71")),
    ("T-bolt clamp 71–80 mm", CORVID, typed(price="15.20", pack="4")),
    ("T-bolt clamp 67–76 mm", TARN, typed(price="4.60", code="TB-67")),
    ("Copper washer 14 mm", CORVID, typed(price="2.40", pack="10")),
    ("Turbine inlet gasket", UNDERHILL, typed(price="12.50")),
    ("Aluminium tube 60 × 1.5 mm, 1 m", MILLRACE, typed(price="24.00")),
    ("Aluminium tube 80 × 2 mm, 500 mm", MILLRACE, typed(price="23.00")),
    ("Aluminium bung, 25.4 mm bore", MILLRACE, typed(price="4.80")),
)


def ask(hand: Hand) -> None:
    """Every supplier, and what each of them asks."""
    session, build_id = hand.session, hand.build_id
    for fields in SUPPLIERS:
        service.add_supplier(session, build_id, forms.new_supplier(fields), fields)
    for name, supplier, fields in OFFERS:
        _offer(hand, hand.parts[name], supplier, fields)


def _offer(hand: Hand, part_id: int, supplier: str, fields: Typed) -> None:
    offer = forms.new_offer(fields | {"supplier": supplier})
    service.add_offer(hand.session, hand.build_id, part_id, offer)
