"""The usual cautions of work on a car, in short words. Local rules and the maker's manual come first.

Source of all of them: common practice, no source; signal words after ANSI Z535.4.
"""

from dataclasses import dataclass
from functools import lru_cache

LAST_WORD = "Local rules, the car maker's manual and whoever is licensed for this work come first."


@dataclass(frozen=True, slots=True)
class WorkCaution:
    """code: as kept with a task; name: as a list shows it; signal: DANGER, WARNING or CAUTION."""

    code: str
    name: str
    signal: str
    text: str


UNDER_THE_CAR = WorkCaution(
    "under",
    "under the car",
    "DANGER",
    "A car on a jack alone can fall and kill. Rigid stands under load-bearing points, on firm level ground, "
    "wheels chocked; push it hard before you go under, goggles on: rust falls. Nobody starts the "
    "engine or moves the car. Somebody should know that you are there.",
)
HOT_WORK = WorkCaution(
    "hot work",
    "welding, grinding, flame",
    "WARNING",
    "No open fuel, tank or vapour within reach; fuel and brake lines moved or shielded. Look at the "
    "other side of the floor: carpet, underseal, lines. Battery off, and for air bags and control "
    "units the wait that the manual asks, before an arc is struck on the car; earth on the pipe "
    "itself, never through turbo, hubs or mounts. Weld off the car and only tack on it; whoever stands "
    "by looks away. Extinguisher at hand, and a fire watch afterwards at least as long as the local "
    "rule (30 to 60 min is usual).",
)
WELD_FUME = WorkCaution(
    "weld fume",
    "welding fume, shade",
    "WARNING",
    "No chlorinated cleaner on or near the metal: under an arc it turns to poison gas. Zinc of "
    "galvanised metal and chromium of stainless make fume that harms: coatings ground back 25 mm, "
    "fresh air and extraction at the arc, a mask for fume. Purge gas gathers low and leaves no air to "
    "breathe. Shade, goggles, gloves on.",
)
CAUTIONS = (
    UNDER_THE_CAR,
    HOT_WORK,
    WELD_FUME,
    WorkCaution(
        "fuel",
        "fuel",
        "DANGER",
        "Fuel vapour burns from one spark. Outdoors or in moving air, engine cold, pressure let off, battery "
        "off, no lamp or heater that can spark; catch what runs out in a closed can, extinguisher at hand. "
        "Fuel lines are for a licensed person where the law says so.",
    ),
    WorkCaution(
        "brakes and steering",
        "brakes and steering",
        "DANGER",
        "A brake line or steering part that was disturbed can fail on the road. Torque and seal it as the "
        "manual says, bleed it, and have it looked at by somebody qualified before the car moves.",
    ),
    WorkCaution(
        "oil",
        "oil feed and drain",
        "WARNING",
        "Hot oil burns skin, used oil harms it: gloves on. Oil that weeps on a turbine is a fire. Engine "
        "cold; every joint wiped dry and looked at with the engine running, from beside it, nobody beneath.",
    ),
    WorkCaution(
        "coolant",
        "coolant",
        "WARNING",
        "Never open a hot cap: the water flashes to steam. Old coolant is poison to animals; catch "
        "all of it.",
    ),
    WorkCaution(
        "pressure test",
        "pressure test",
        "WARNING",
        "Compressed air in a pipe throws plugs. Goggles on, regulator and relief valve, plugs strapped, "
        "nobody in line with a plug; pressure off before a clamp is touched; begin at about 0.3 bar and "
        "never go above the boost intended.",
    ),
    WorkCaution(
        "refrigerant",
        "air conditioning",
        "WARNING",
        "Refrigerant freezes skin and eyes, and a flame makes poison of it. Only a licensed person opens or "
        "empties that circuit: move its parts whole, hoses on, or wait for them.",
    ),
    WorkCaution(
        "turning shafts",
        "turning shafts, belts, drills",
        "WARNING",
        "A turning shaft, belt, fan or drill winds in sleeves, hair and gloves at once. Engine off and "
        "key out before a hand goes in; clear of driven wheels and shafts; no gloves at a drill or "
        "roller.",
    ),
    WorkCaution(
        "first start",
        "engine running",
        "DANGER",
        "Exhaust gas kills indoors: doors open, gas led outside. Neutral, wheels chocked, nobody beneath. "
        "Keep hair, sleeves and tools out of belts and fans. Stop at once without oil pressure.",
    ),
    WorkCaution(
        "battery",
        "battery and wiring",
        "CAUTION",
        "Earth lead off first and on last; rings and watch off; no spark near a battery that was charged. "
        "Every new wire has a fuse at its source. Air bags and belt tensioners: wait as the manual says "
        "before their plugs are touched.",
    ),
    WorkCaution(
        "dust and fumes",
        "dust, fumes, wrapping",
        "CAUTION",
        "Old gaskets and heat wrap may hold asbestos or mineral fibre: wet it, never blow or grind it dry, "
        "mask and gloves on.",
    ),
    WorkCaution(
        "seized fasteners",
        "seized fasteners, heat",
        "WARNING",
        "What lets go at once throws hand and tool: brace, pull towards you, goggles on. Penetrating fluid"
        " burns: no flame on a wet joint, none near fuel, brake lines, rubber or a battery. A drill that "
        "grabs twists wrists.",
    ),
    WorkCaution(
        "lifting",
        "heavy parts",
        "WARNING",
        "Gearbox, exhaust, manifold and turbo fall and crush: two people or a jack made for it, nobody "
        "beneath, the engine held as the manual says.",
    ),
    WorkCaution(
        "pinch",
        "fingers between moving parts",
        "WARNING",
        "Wheel, suspension, bonnet and engine crush fingers when another moves them: say it aloud before "
        "anything moves, hands out first. Spring parts stay joined; the car never rests on a jack alone, "
        "and no wheel is turned under power.",
    ),
    WorkCaution(
        "chemicals",
        "cleaners, fluids, sealant",
        "CAUTION",
        "Goggles and gloves on, moving air, no flame: most of them burn. Read the can. Never blow or suck by "
        "mouth; oily rags in a lidded tin, rests to where local rules take them.",
    ),
    WorkCaution(
        "sharp metal",
        "cutting, sharp edges",
        "CAUTION",
        "Cut tube and sheet open a hand; goggles on at the saw, tube held in a vice, no gloves near a "
        "turning tool.",
    ),
    WorkCaution(
        "hot parts",
        "hot parts, belts, fan",
        "CAUTION",
        "Turbine and exhaust burn long after the engine stops, and an electric fan starts by itself. "
        "Sleeves and hair tied back.",
    ),
    WorkCaution(
        "boost",
        "driving under boost",
        "DANGER",
        "Boost without a limit breaks engines and people. Rollers or a closed road, belts on, one drives and "
        "another watches the log; stop limits written down beforehand, the over-boost cut proved. Road law "
        "and the insurer's terms count.",
    ),
)
"""In the order in which a list offers them."""


LICENSED = ("refrigerant", "fuel lines", "brakes and steering", "air bags and belt tensioners", "other")
"""What a licence is usually asked for; which of it, local law says."""


@lru_cache
def licensed_caution(what: str) -> WorkCaution:
    """That a task is for a licensed person, and what to leave alone until then."""
    part = "This" if what == "other" else what[:1].upper() + what[1:]
    verb = "is" if what in {"other", "refrigerant"} else "are"
    return WorkCaution(
        f"licensed {what}",
        f"licensed: {what}" if what != "other" else "licensed work",
        "WARNING",
        f"{part} {verb} for a licensed person by the law of many places. Settle who does it, and leave it "
        "closed until they have come; help only where they say so. Ask for the paper that the law or the "
        "insurer wants.",
    )


def cautions_of(place: str, hot_work: bool, code: str, licensed: str = "") -> tuple[WorkCaution, ...]:
    """The cautions that one task shows: of its place, of hot work, and the one set by hand, each once.

    licensed: what of it is for a licensed person, one of `LICENSED`.
    """
    wanted = {code}
    if place == "under the car":
        wanted.add(UNDER_THE_CAR.code)
    if hot_work:
        wanted |= {HOT_WORK.code, WELD_FUME.code}
    found = tuple(caution for caution in CAUTIONS if caution.code in wanted)
    return (licensed_caution(licensed), *found) if licensed else found
