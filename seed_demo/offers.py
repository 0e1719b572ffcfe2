"""Who sells what to the build and for how much, which parts runs call by another name, and the spares."""

from collections.abc import Mapping, Sequence

from seed_demo.hand import Hand, Typed, typed
from server.features.suppliers import forms, service

TARN = "Tarn Hose & Clamp"
MILLRACE = "Millrace Tube"
CORVID = "Corvid Fasteners"
UNDERHILL = "Underhill Castings"

SUPPLIERS = (
    typed(
        name=TARN,
        postage="4.90",
        free_from="120",
        takes_back="yes",
        lead_days="5",
        contact="counter@tarn-hose.example",
        note="Answers the telephone until six.",
    ),
    typed(
        name=MILLRACE,
        postage="14.00",
        lead_days="12",
        contact="saw@millrace-tube.example",
        note="Tube is cut to two metres at most.",
    ),
    typed(
        name=CORVID, postage="3.50", free_from="40", lead_days="3", contact="bins@corvid-fasteners.example"
    ),
    typed(name=UNDERHILL, postage="9.00", lead_days="14", contact="pattern-shop@underhill.example"),
)
"""Nobody can be reached there: `.example` is kept free for such."""

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
    "Constant-tension clamp 20–27 mm": typed(spec="constant tension clamp, 20 to 27 mm"),
    "Stainless bend 76.1 × 1.5 mm, 90°, R 114": typed(
        spares="1", spare_reason="one cut wrong on the Saturday, and the fabricator is gone till spring"
    ),
    "Oil drain gasket": typed(spares="1", spare_reason="the drain comes off again when the pan weeps"),
    "Turbine inlet gasket": typed(spares="1", spare_reason="it crushes once, and the manifold may come off"),
    "Copper washer 14 mm": typed(spares="4", spare_reason="each loosened banjo takes two new ones"),
}
"""By a part's name: further fields of its form. `spec` is what the runs of the chosen designs call it."""

USUAL = {
    "coupler": TARN,
    "hose": TARN,
    "clamp": TARN,
    "tube": MILLRACE,
    "bend": MILLRACE,
    "fitting": MILLRACE,
    "flange": UNDERHILL,
    "gasket": UNDERHILL,
    "fastener": CORVID,
    "other": CORVID,
}
"""Who is asked first for a kind of part."""

ELSEWHERE = {
    "Oxygen sensor boss M18 × 1.5, stepped": UNDERHILL,
    "Banjo bolt M12 × 1.25": CORVID,
    "Banjo bolt M14 × 1.5": CORVID,
    "Heater tee 16 mm": TARN,
    "Check valve for the servo line": TARN,
    "Fuel filter, 8 mm": CORVID,
    "Fuel hose clamp 13–15 mm": CORVID,
    "Oil pan weld-in fitting 19 mm": UNDERHILL,
    "Wide band clamp 76 mm, stainless": CORVID,
    "Copper washer 12 mm": CORVID,
    "Copper washer 14 mm": CORVID,
    "Constant-tension clamp 20–27 mm": CORVID,
}
IN_PACKS = {
    "Copper washer 12 mm": typed(price="2.40", pack="10"),
    "Copper washer 14 mm": typed(price="2.40", pack="10"),
    "Spring clip 8 mm": typed(price="2.90", pack="10"),
    "Hose clamp 16–27 mm, rolled edge": typed(price="8.20", pack="10"),
    "Fuel hose clamp 13–15 mm": typed(price="6.90", pack="10"),
    "Self-locking nut M8": typed(price="3.90", pack="10"),
    "Oil pan weld-in fitting 19 mm": typed(price="14.00", lead_days="8"),
}
SECOND_OFFERS = (
    ("Bypass hose 25 mm, lined silicone, 0.5 m", CORVID, typed(price="21.40")),
    ("T-bolt clamp 71–80 mm", CORVID, typed(price="15.20", pack="4")),
    ("T-bolt clamp 67–76 mm", CORVID, typed(price="4.85")),
    ("Heat barrier tape 50 mm, 5 m", TARN, typed(price="21.00", code="HB-50", note="thicker foil")),
    ("Fuel filter, 8 mm", TARN, typed(price="17.90")),
    ("Turbine inlet gasket", CORVID, typed(price="14.80")),
    ("Silicone coupler 63.5 mm", MILLRACE, typed(price="9.90")),
)
PREFERRED = "Heat barrier tape 50 mm, 5 m"
"""The dearer one is taken, for what it is."""


def ask(hand: Hand, parts: Mapping[str, Sequence[tuple[str, str]]]) -> None:
    """Every supplier, and what each of them asks. parts: name and usual price of each, by kind."""
    session, build_id = hand.session, hand.build_id
    for fields in SUPPLIERS:
        service.add_supplier(session, build_id, forms.new_supplier(fields), fields)
    for kind, named in parts.items():
        for name, price in named:
            fields = IN_PACKS.get(name, typed(price=price))
            _offer(hand, hand.parts[name], ELSEWHERE.get(name, USUAL[kind]), fields)
    for name, supplier, fields in SECOND_OFFERS:
        number = _offer(hand, hand.parts[name], supplier, fields)
        if name == PREFERRED:
            service.prefer(session, build_id, number, True)


def _offer(hand: Hand, part_id: int, supplier: str, fields: Typed) -> int:
    offer = forms.new_offer(fields | {"supplier": supplier})
    return service.add_offer(hand.session, hand.build_id, part_id, offer)
