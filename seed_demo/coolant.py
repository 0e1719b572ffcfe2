"""The heater hose that has to go another way round now; it was not offered up yet."""

from seed_demo.hand import Hand, Laid, typed
from server.features.designing import service as designing

BAND = typed(kind="hose and clamp", clamp="constant tension", clamp_least="20", clamp_most="27", overlap="28")


def draw(hand: Hand) -> None:
    number = hand.design(
        "Heater hoses",
        "Behind the head, over the bell housing",
        "Heater outlet of the head",
        "Heater matrix inlet",
        BAND,
        Laid(
            typed(
                kind="hose",
                name="Heater hose",
                material="EPDM",
                known_by="reckoned",
                bore="16",
                wall="3",
                length="620",
                rated_pressure="2 bar",
                rated_temperature="125 °C",
                reinforced="on",
            ),
            BAND,
        ),
    )
    reason = "Well away from the turbine; length by wire, not offered up yet"
    designing.choose(hand.session, hand.build_id, number, typed(because=reason), hand.moment(-2))
