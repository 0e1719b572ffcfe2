"""Fuel supply, clutch and plugs, and what inspection and insurance ask by local rules."""

from server.core.work.usual.values import (
    BAY_OPEN,
    ENGINE_BAY,
    HOUR,
    ON_STANDS,
    ON_WHEELS,
    OUTSIDE,
    UNDER,
    UsualPort,
    UsualSetback,
    UsualSubsystem,
    UsualTask,
)

FUEL = UsualSubsystem(
    "fuel supply",
    "Fuel supply",
    ports=(
        UsualPort("fuel.feed", "Fuel feed from the tank", medium="fuel", frame="body", end_form="bead"),
        UsualPort("fuel.rail", "Fuel rail inlet", medium="fuel", end_form="bead"),
        UsualPort("fuel.return", "Fuel return to the tank", medium="fuel", frame="body", end_form="bead"),
    ),
    tasks=(
        UsualTask(
            "fuel.sum",
            "Work out what pump and injectors must flow at the power asked",
            (20, 40, 60),
            note="At the rail pressure under boost and the pump's lowest voltage. Engine sheet first.",
        ),
        UsualTask(
            "fuel.let-off",
            "Let the fuel pressure off, as the manual says",
            (10, 20, 40),
            OUTSIDE,
            ON_WHEELS,
            after=("car.photos", "fuel.sum"),
            caution="fuel",
            note="Pump fuse out, engine run until it dies; still a rag round the first joint.",
        ),
        UsualTask(
            "fuel.injectors",
            "Fit the injectors, new seals, a drop of clean oil on each",
            (45, 90, 180),
            ENGINE_BAY,
            BAY_OPEN,
            after=("fuel.let-off", "car.battery-off"),
            caution="fuel",
            note="Clean round each before it comes out. Keep flow sheet and dead times for the calibration.",
            setbacks=(
                UsualSetback(
                    "Free an injector that broke at its plug or sits stuck",
                    0.15,
                    (20, 45, 120),
                    "spare plug, penetrating fluid, soft lever",
                    "fuel",
                ),
            ),
        ),
        UsualTask(
            "fuel.pump",
            "Fit the fuel pump with its own fused wire and relay",
            (90, 150, 300),
            UNDER,
            ON_STANDS,
            after=("fuel.let-off", "car.battery-off"),
            caution="fuel",
            carry="closed can, new seal, drift of wood or brass, extinguisher, torch that cannot spark",
            note="Tank low, garage door open, air moving. Hose inside the tank must be made to lie in fuel.",
        ),
        UsualTask(
            "fuel.hose",
            "Renew fuel hoses that move or age, filter too; injection hose and matching clamps",
            (40, 75, 150),
            UNDER,
            ON_STANDS,
            after=("fuel.let-off", "car.battery-off"),
            caution="fuel",
            carry="closed can, hose, injection clamps, plugs, extinguisher",
            note="SAE J30 R9 or better. Gap to turbine, downpipe and everything that moves.",
        ),
        UsualTask(
            "fuel.leak",
            "Switch the pump on three times, engine off; look at every joint",
            (10, 20, 40),
            ENGINE_BAY,
            BAY_OPEN,
            after=("fuel.injectors", "fuel.pump", "fuel.hose", "car.battery-on"),
            hands=2,
            caution="fuel",
            carry="torch, dry paper, extinguisher",
            note="One switches, one looks. Smell counts: find it before the first start.",
        ),
    ),
)

CLUTCH = UsualSubsystem(
    "clutch and plugs",
    "Clutch and plugs",
    tasks=(
        UsualTask(
            "clutch.rating",
            "Settle whether the clutch holds the torque asked",
            (15, 30, 60),
            note="At peak torque, with a margin; a slipping clutch shows at low speed in a high gear.",
            when=("clutch",),
        ),
        UsualTask(
            "clutch.change",
            "Gearbox down, clutch and release bearing changed",
            (300, 480, 840),
            UNDER,
            ON_STANDS,
            after=("clutch.rating", "car.stands", "car.battery-off", "downpipe.off"),
            hands=2,
            caution="lifting",
            carry="gearbox jack, centring tool, torque wrench, long extensions, clean cloths",
            note="While it is down: rear crank seal, pilot bearing, release fork. Easier before the "
            "downpipe goes in.",
            when=("clutch",),
            setbacks=(
                UsualSetback(
                    "Turn or renew the flywheel: cracked, blued or out of true",
                    0.3,
                    (60, 120, 240),
                    note="A machine shop's days, not yours: ask before the gearbox is down.",
                ),
                UsualSetback(
                    "Free a seized bell housing dowel or bolt",
                    0.2,
                    (30, 60, 180),
                    "penetrating fluid, heat where nothing burns, long bar",
                    "seized fasteners",
                ),
            ),
        ),
        UsualTask(
            "clutch.automatic",
            "Settle what the automatic gearbox bears; fluid and cooler to suit",
            (60, 120, 240),
            note="Heat kills it: a bigger cooler first. Its control unit may ask the engine for less torque.",
            when=("automatic",),
        ),
        UsualTask(
            "clutch.plugs",
            "Fit plugs of the heat range asked, gap set for boost",
            (30, 45, 90),
            ENGINE_BAY,
            later=(("car.compression", HOUR),),
            note="Engine cold, the wells blown out first. One or two steps colder and a smaller gap are "
            "usual; the calibrator says.",
            setbacks=(
                UsualSetback(
                    "Mend a spark plug thread that came out with the plug",
                    0.05,
                    (90, 180, 360),
                    "thread insert, grease on the tap, vacuum hose",
                ),
            ),
        ),
    ),
)

INSPECTION = UsualSubsystem(
    "inspection and insurance",
    "Inspection and insurance",
    tasks=(
        UsualTask(
            "law.ask",
            "Ask the inspecting body what it allows and which papers it wants, before money is spent",
            (30, 60, 120),
            note="Power, emissions, catalyst, noise, brakes: by local rules. Some want a report beforehand.",
        ),
        UsualTask(
            "law.insurer",
            "Tell the insurer; keep the answer in writing",
            (20, 40, 90),
            after=("law.ask",),
            note="Cover may lapse from the first drive on.",
        ),
        UsualTask(
            "law.brakes",
            "Look over brakes and tyres for the power asked",
            (45, 90, 180),
            UNDER,
            ON_STANDS,
            after=("law.ask",),
            caution="brakes and steering",
            carry="torch, tread gauge, rule, wire brush",
        ),
        UsualTask(
            "law.inspection",
            "Have the car inspected and its papers changed",
            (120, 180, 360),
            OUTSIDE,
            ON_WHEELS,
            after=("law.insurer", "law.brakes", "road.steps", "road.leak"),
            splits=False,
            note="Where local rules want it before any drive on the road, put it before the first drive.",
        ),
    ),
)
