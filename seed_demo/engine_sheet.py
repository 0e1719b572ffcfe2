"""The car, its subsystems and the engine's numbers."""

from seed_demo.hand import Hand, typed
from server.features.builds import forms as build_forms
from server.features.builds import service as builds
from server.features.engine import service as engine

BEGUN = -46

BUILD = typed(
    name="Vesper, big turbo",
    car="1999 Orrin Vesper saloon, 2.1 l inline four set lengthwise, rear-wheel drive",
    system="metric",
    currency="EUR",
    meter_place="before compressor",
    car_state="on stands",
    stage="making",
    budget="1150",
    week="35",
)

SUBSYSTEMS = (
    "intake",
    "charge pipe",
    "cooler pipe",
    "downpipe",
    "oil feed",
    "oil drain",
    "coolant",
    "wastegate and boost control",
    "bypass valve return",
    "breather",
    "heater hoses",
    "vacuum and signal lines",
    "fuel supply",
    "heat shielding",
    "engine management",
    "clutch and plugs",
    "inspection and insurance",
    "turbocharger",
)
"""What the conversion touches. The exhaust from the centre pipe back stays as it is."""

SHEET = typed(
    version="0",
    displacement="2.1 l",
    cylinders="4",
    redline="6600 rpm",
    boost="1.0 bar",
    highest_boost="18.5 psi",
    fuel="petrol-95",
    elevation="240 m",
    ambient_temperature="25 °C",
    bonnet_temperature="85 °C",
    compressor_efficiency="72 %",
    cooler_effectiveness="70 %",
    cooler_loss="1 psi",
    filter_loss="2 kPa",
    meter_range="0.35 kg/s",
    meter_bore="75 mm",
)


def fill_in(hand: Hand) -> None:
    """The build, what is to be made for it, and its engine sheet."""
    form = build_forms.build_form(BUILD)
    hand.build_id = builds.create_build(hand.session, form, hand.moment(BEGUN))
    for kind in SUBSYSTEMS:
        hand.subsystem(kind)
    engine.save_sheet(hand.session, hand.build_id, SHEET)
