"""Cooler pipes, bypass valve and breather."""

from server.core.work.usual.air_side import CARRY_CLAMPS
from server.core.work.usual.values import (
    BAY_OPEN,
    ENGINE_BAY,
    HOUR,
    UsualPort,
    UsualSubsystem,
    UsualTask,
)

COLD_SIDE = "between cooler and throttle"
SIGNAL = "boost or vacuum signal"

COOLER = UsualSubsystem(
    "cooler pipe",
    "Cooler pipes",
    ports=(
        UsualPort("cooler.outlet", "Cooler outlet", frame="body", end_form="bead"),
        UsualPort("cooler.throttle", "Throttle inlet"),
        UsualPort(
            "cooler.bypass",
            "Bypass valve take-off",
            role="side port",
            stretch=COLD_SIDE,
            note="Close to the throttle, where the lift-off spike begins. A meter between cooler and "
            "throttle: ahead of the meter.",
            when=("valve",),
        ),
        UsualPort(
            "cooler.temperature",
            "Charge temperature sensor",
            role="side port",
            shape="hole",
            end_form="thread",
            stretch=COLD_SIDE,
        ),
        UsualPort(
            "cooler.pressure",
            "Boost pressure tap for the sensor",
            role="side port",
            medium=SIGNAL,
            stretch=COLD_SIDE,
            note="Its own tap: nothing else is teed to it.",
        ),
    ),
    tasks=(
        UsualTask(
            "cooler.hang",
            "Hang the cooler on rubber, clear of radiator and bumper",
            (90, 180, 360),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.front-off",),
            hands=2,
            caution="sharp metal",
            note="Keep air to the radiator; cut no crash structure. Flush a used cooler: it may hold the "
            "last turbo's swarf.",
        ),
        UsualTask(
            "cooler.mock-up",
            "Offer mock cooler pipes up to the throttle",
            (40, 75, 150),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.measure", "cooler.hang", "charge.off"),
            carry="foam pipe, card, tape, marker, rule, torch",
            note="Leave room for bonnet, fan and the engine's roll.",
        ),
        UsualTask(
            "cooler.cut",
            "Cut the cooler pipes' tube and bends, long first",
            (45, 90, 180),
            after=("cooler.mock-up",),
            caution="sharp metal",
            readings=(("cooler.outlet", "outside_diameter"), ("cooler.throttle", "outside_diameter")),
            design=("decision", "checks", "to make"),
            note="Square cuts, mitres only in straights; one blade's width at a time, offer up again.",
        ),
        UsualTask(
            "cooler.bead",
            "Roll the cooler pipes' beads, deburr",
            (25, 45, 90),
            after=("cooler.cut",),
            caution="sharp metal",
            note="Inside too: no burr towards the throttle.",
        ),
        UsualTask(
            "cooler.weld",
            "Weld the cooler pipes, take-off and sensor bosses",
            (60, 105, 210),
            after=("cooler.bead", "car.visit-ready"),
            hands=2,
            helper_skill="welds the cooler pipes' metal",
            hot_work=True,
            note="Run the tap through each boss afterwards: welding pulls the thread.",
        ),
        UsualTask(
            "cooler.flush",
            "Flush cooler and cooler pipes, look through them",
            (20, 30, 60),
            later=(("cooler.weld", HOUR),),
            caution="chemicals",
            note="Until what runs out stays clean, then blown dry; goggles on.",
        ),
        UsualTask(
            "cooler.fit",
            "Fit the cooler pipes, clamps behind the beads",
            (45, 75, 150),
            ENGINE_BAY,
            BAY_OPEN,
            after=("cooler.flush",),
            carry=CARRY_CLAMPS,
            design=("to fit",),
            note="Leave the coupler at the throttle open: for the torch, then for the blank of the pressure "
            "test.",
        ),
        UsualTask(
            "cooler.sensors",
            "Fit charge temperature and pressure sensors",
            (20, 30, 60),
            ENGINE_BAY,
            after=("cooler.fit",),
            note="Sealed as their maker says: the pressure test finds a dry thread.",
        ),
    ),
)

BYPASS = UsualSubsystem(
    "bypass valve return",
    "Bypass valve return",
    ports=(
        UsualPort("bypass.out", "Bypass valve outlet", end_form="bead", when=("valve to intake",)),
        UsualPort("bypass.top", "Bypass valve signal nipple", medium=SIGNAL, end_form="barb"),
    ),
    tasks=(
        UsualTask(
            "bypass.bench",
            "Try the bypass valve with a hand pump: opens, shuts, holds",
            (10, 20, 30),
            note="Note the vacuum at which it lifts and whether it leaks at the boost asked for.",
        ),
        UsualTask(
            "bypass.fit",
            "Fit the bypass valve, its signal from behind the throttle",
            (25, 45, 90),
            ENGINE_BAY,
            BAY_OPEN,
            after=("bypass.bench", "cooler.fit", "signal.map"),
            note="Its signal is the manifold's own: vacuum at lift-off opens it. Clip both ends.",
        ),
        UsualTask(
            "bypass.return",
            "Lead the bypass return into the intake, behind the meter",
            (25, 45, 90),
            ENGINE_BAY,
            BAY_OPEN,
            after=("bypass.fit", "intake.fit"),
            design=("decision", "to fit"),
            note="Counted air that is blown out runs rich, and the engine may stall.",
            when=("valve to intake",),
        ),
        UsualTask(
            "bypass.open",
            "Settle what an open bypass valve does to the mixture and to local noise rules",
            (15, 30, 60),
            after=("bypass.bench", "law.ask"),
            note="With a meter before the compressor the air blown out was counted: rich at every lift-off.",
            when=("valve open",),
        ),
    ),
    when=("valve",),
)

BREATHER = UsualSubsystem(
    "breather",
    "Breather",
    ports=(
        UsualPort(
            "breather.manifold",
            "Breather valve at the manifold",
            medium="crankcase breather",
            end_form="barb",
            note="Boost comes back here without a check valve.",
        ),
        UsualPort(
            "breather.cover",
            "Cam cover breather",
            medium="crankcase breather",
            end_form="barb",
        ),
        UsualPort(
            "breather.case",
            "Crankcase breather",
            medium="crankcase breather",
            end_form="barb",
        ),
    ),
    tasks=(
        UsualTask(
            "breather.trace",
            "Trace the breathers: which one feeds the manifold, which the intake",
            (20, 40, 75),
            ENGINE_BAY,
            after=("car.photos",),
            note="Deleting one? Ask also whether the control unit expects it (fault, limp mode).",
        ),
        UsualTask(
            "breather.valve",
            "Blow through the breather's valve both ways; fit a check valve where boost could come back",
            (15, 30, 60),
            after=("breather.trace",),
            caution="chemicals",
            note="By clean hose and hand pump, not by mouth. The crankcase is never put under boost. The "
            "arrow points to the manifold.",
        ),
        UsualTask(
            "breather.mock-up",
            "Offer an old hose up for each breather",
            (15, 30, 60),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.measure", "breather.trace"),
            note="Until it fits, length and shape are unknown: order on the mock-up, not on a tape.",
        ),
        UsualTask(
            "breather.fit",
            "Fit the breather hoses, falling all the way or with a catch can",
            (30, 60, 120),
            ENGINE_BAY,
            BAY_OPEN,
            after=("breather.valve", "breather.mock-up", "intake.fit"),
            caution="oil",
            design=("decision", "to fit"),
            note="NBR, FKM or lined silicone, never plain. A low spot freezes shut in winter.",
        ),
    ),
)
