"""Intake and charge pipe, filter to cooler."""

from server.core.work.usual.values import (
    BAY_OPEN,
    ENGINE_BAY,
    HOUR,
    UsualPort,
    UsualSubsystem,
    UsualTask,
)

CARRY_CLAMPS = "socket or screwdriver for the clamps, two spare clamps, paint marker, torch, mirror"
METERED = "between air meter and compressor"

INTAKE = UsualSubsystem(
    "intake",
    "Intake",
    ports=(
        UsualPort(
            "intake.meter",
            "Air meter outlet",
            medium="air, at the air meter",
            frame="body",
            note="Housing and the pipe before it stay as they are, or the calibration is re-scaled.",
            when=("meter ahead",),
        ),
        UsualPort("intake.filter", "Air filter or air box outlet", frame="body", when=("no meter ahead",)),
        UsualPort("intake.compressor", "Compressor inlet"),
        UsualPort(
            "intake.breather",
            "Breather return to the intake",
            role="side port",
            medium="crankcase breather",
            stretch=METERED,
            note="Oil mist softens plain silicone: a lined hose or NBR after it.",
        ),
        UsualPort(
            "intake.bypass",
            "Bypass valve return to the intake",
            role="side port",
            stretch=METERED,
            note="Counted air: after the meter, pointing with the flow.",
            when=("valve to intake",),
        ),
        UsualPort(
            "intake.purge",
            "Canister purge",
            role="side port",
            stretch=METERED,
            note="A designed flow.",
        ),
        UsualPort(
            "intake.vent",
            "Boost solenoid's vent",
            role="side port",
            stretch=METERED,
            note="Counted air: it goes back behind the meter.",
        ),
        UsualPort(
            "intake.idle",
            "Idle valve's air feed",
            role="side port",
            stretch=METERED,
            note="Only where the idle valve draws from the intake pipe; fed from the charge side it must "
            "bear boost.",
        ),
    ),
    tasks=(
        UsualTask(
            "intake.off",
            "Take the old intake off, air box to turbo",
            (30, 45, 90),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.photos", "car.battery-off"),
            note="A rag goes into the compressor at once; count it in.",
        ),
        UsualTask(
            "intake.mock-up",
            "Offer a foam or card intake up; read its gaps",
            (40, 75, 150),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.measure", "intake.off"),
            carry="foam pipe or card, tape, marker, steel rule, torch",
            note="With each gap: on stands or at ride height, engine cold or hot, seen from where. An old "
            "pipe is a pattern: enter its legs and angles.",
        ),
        UsualTask(
            "intake.cut",
            "Cut the intake's tube and bends, long first",
            (45, 90, 180),
            after=("intake.mock-up",),
            caution="sharp metal",
            readings=(("intake.compressor", "outside_diameter"),),
            design=("decision", "checks", "to make"),
            note="Square cuts; one blade's width off at a time, offer up again. A bend cut within its arc "
            "keeps no straight for a bead.",
        ),
        UsualTask(
            "intake.bead",
            "Roll the intake's beads, deburr",
            (20, 40, 75),
            after=("intake.cut",),
            caution="sharp metal",
            note="The roller wants its least straight length. The hose's bore is the tube's outside.",
        ),
        UsualTask(
            "intake.bungs",
            "Set the bungs for breather, bypass return and purge",
            (45, 90, 150),
            after=("intake.bead", "car.visit-ready"),
            hands=2,
            hot_work=True,
            helper_skill="welds the intake's metal",
            note="Never within a clamp's overlap. Plastic or rubber pieces take a moulded bung or bulkhead"
            " nipple.",
        ),
        UsualTask(
            "intake.flush",
            "Flush the intake, wipe it white, look through it",
            (15, 25, 40),
            later=(("intake.bungs", HOUR),),
            caution="chemicals",
            note="Nothing loose ahead of the wheel: a grain from the saw ruins it.",
        ),
        UsualTask(
            "intake.fit",
            "Fit the intake, clamps behind the beads",
            (40, 60, 120),
            ENGINE_BAY,
            BAY_OPEN,
            after=("intake.flush", "car.turbo-on", "feed.fit", "water.fit"),
            carry=CARRY_CLAMPS,
            design=("to fit",),
            note="Leave the last coupler at the compressor open for torch and mirror.",
        ),
    ),
)

CHARGE = UsualSubsystem(
    "charge pipe",
    "Charge pipe",
    ports=(
        UsualPort("charge.compressor", "Compressor outlet", end_form="bead"),
        UsualPort("charge.cooler", "Cooler inlet", frame="body", end_form="bead"),
        UsualPort(
            "charge.signal",
            "Boost signal for the wastegate",
            role="side port",
            medium="boost or vacuum signal",
            stretch="between compressor and throttle",
            note="On metal, close to the compressor. Not needed where its housing has a nipple.",
        ),
    ),
    tasks=(
        UsualTask(
            "charge.off",
            "Take the old charge pipes off",
            (30, 45, 90),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.photos", "car.front-off"),
            note="Oil in them tells of the old turbo's seals or of the breather. Cover the throttle at once.",
        ),
        UsualTask(
            "charge.mock-up",
            "Offer a mock charge pipe up; read its gaps",
            (45, 90, 180),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.measure", "cooler.hang", "charge.off"),
            carry="foam pipe, card, tape, marker, rule, torch",
            note="Look at belts, fan, actuator rod and the engine's roll. It crosses from engine to body: "
            "something must flex.",
        ),
        UsualTask(
            "charge.cut",
            "Cut the charge pipe's tube and bends, long first",
            (60, 120, 210),
            after=("charge.mock-up", "gate.clear"),
            caution="sharp metal",
            readings=(("charge.compressor", "outside_diameter"), ("charge.cooler", "outside_diameter")),
            design=("decision", "checks", "to make"),
            note="A bought pipe that is too long: take out a middle length, keep its bungs. Mitre only in "
            "straights.",
        ),
        UsualTask(
            "charge.bead",
            "Roll the charge pipe's beads, deburr",
            (25, 45, 90),
            after=("charge.cut",),
            caution="sharp metal",
            note="Every clamped end under pressure has a bead. A cut-down end without a straight leg is a "
            "weld end.",
        ),
        UsualTask(
            "charge.weld",
            "Weld the charge pipe and its bungs",
            (60, 120, 240),
            after=("charge.bead", "charge.bracket", "car.visit-ready"),
            hands=2,
            helper_skill="welds the charge pipe's metal",
            hot_work=True,
            note="Tack opposite, offer up, weld out in turn.",
        ),
        UsualTask(
            "charge.bracket",
            "Make the bracket that takes the pipe's end thrust",
            (30, 60, 120),
            ENGINE_BAY,
            BAY_OPEN,
            after=("charge.bead",),
            caution="sharp metal",
            note="End force is over-boost times the area of the tube's outside. Fix it to the frame that "
            "the pipe moves with; what it needs of welding is for the bench.",
        ),
        UsualTask(
            "charge.flush",
            "Flush the charge pipe, look through it with a torch",
            (15, 25, 40),
            later=(("charge.weld", HOUR),),
            caution="chemicals",
            note="After cutting and beading there is always swarf. Let welded metal cool first.",
        ),
        UsualTask(
            "charge.fit",
            "Fit the charge pipe, clamps behind the beads",
            (45, 75, 150),
            ENGINE_BAY,
            BAY_OPEN,
            after=("charge.flush", "car.turbo-on", "gate.clear"),
            carry=CARRY_CLAMPS,
            design=("to fit",),
            note="No bare worm-drive band on silicone. Clock each screw where the tool reaches it, none "
            "against a hose. It must open over the bead and close on tube and two hose walls.",
        ),
    ),
)
