"""Wastegate and boost control, and every vacuum and signal line."""

from server.core.work.usual.values import (
    BAY_OPEN,
    ENGINE_BAY,
    UsualPort,
    UsualSetback,
    UsualSubsystem,
    UsualTask,
)

SIGNAL = "boost or vacuum signal"

GATE = UsualSubsystem(
    "wastegate and boost control",
    "Wastegate and boost control",
    ports=(
        UsualPort("gate.actuator", "Gate actuator's signal nipple", medium=SIGNAL, end_form="barb"),
        UsualPort(
            "gate.solenoid",
            "Boost solenoid",
            medium=SIGNAL,
            end_form="barb",
            frame="body",
            note="Three nipples: source, actuator, vent. Note which is which before the hoses come off.",
        ),
        UsualPort(
            "gate.outlet",
            "Gate outlet, to its return",
            shape="flange",
            medium="exhaust gas",
            end_form="flange",
            note="Back into the downpipe, or to the open where local rules let it.",
            when=("gate outside",),
        ),
        UsualPort(
            "gate.inlet",
            "Gate flange on the manifold",
            shape="flange",
            medium="exhaust gas",
            end_form="flange",
            when=("gate outside",),
        ),
    ),
    tasks=(
        UsualTask(
            "gate.crack",
            "Measure the gate's crack pressure with hand pump and gauge, note the preload",
            (20, 40, 75),
            after=("car.turbo-look",),
            note="The spring alone leaves out the exhaust's push: on the road it opens earlier. This is "
            "the least boost there will be.",
        ),
        UsualTask(
            "gate.clear",
            "See that actuator and rod clear the charge pipe through their whole travel",
            (15, 25, 60),
            ENGINE_BAY,
            BAY_OPEN,
            after=("gate.crack", "car.turbo-on", "charge.mock-up"),
            note="The mock pipe up, the rod worked with the hand pump; again with the finished pipe before "
            "its clamps are shut.",
            when=("gate inside",),
        ),
        UsualTask(
            "gate.fit",
            "Fit the external gate, valve facing as its maker draws it",
            (30, 60, 120),
            ENGINE_BAY,
            BAY_OPEN,
            after=("gate.crack", "car.turbo-on"),
            carry="gaskets or V-bands, sockets, grease for hot threads",
            design=("decision", "to fit"),
            note="New gaskets both sides; nothing near it that minds its heat.",
            when=("gate outside",),
        ),
        UsualTask(
            "gate.hoses",
            "Join gate and solenoid, each hose clipped at both ends",
            (25, 45, 90),
            ENGINE_BAY,
            BAY_OPEN,
            after=("gate.crack", "gate.fit", "charge.fit", "intake.fit", "signal.map"),
            caution="boost",
            note="Signal from ahead of the throttle, never teed to a gauge. A hose that comes off usually "
            "holds the gate shut.",
        ),
        UsualTask(
            "gate.lose",
            "Pull each signal hose and the plug in turn: what is left must be spring pressure or less, or "
            "a proven cut",
            (15, 25, 45),
            ENGINE_BAY,
            BAY_OPEN,
            after=("gate.hoses",),
            caution="boost",
            note="Engine off, with hand pump and drawing. Write down which losses only the over-boost cut "
            "answers.",
        ),
    ),
)

SIGNALS = UsualSubsystem(
    "vacuum and signal lines",
    "Vacuum and signal lines",
    ports=(
        UsualPort(
            "signal.manifold",
            "Manifold vacuum source",
            medium=SIGNAL,
            end_form="barb",
            note="Behind the throttle: servo, bypass valve, fuel regulator, pressure sensor.",
        ),
        UsualPort(
            "signal.servo-port",
            "Brake servo",
            medium=SIGNAL,
            end_form="barb",
            frame="body",
            note="Its own hose and one-way valve; never under boost.",
        ),
        UsualPort("signal.regulator", "Fuel pressure regulator's signal", medium=SIGNAL, end_form="barb"),
        UsualPort(
            "signal.gauge",
            "Boost gauge",
            medium=SIGNAL,
            end_form="barb",
            frame="body",
            note="Its own tap, never teed into the gate's line.",
        ),
        UsualPort(
            "signal.purge",
            "Canister purge at the manifold",
            medium=SIGNAL,
            end_form="barb",
            note="A one-way valve keeps boost out of the canister.",
        ),
    ),
    tasks=(
        UsualTask(
            "signal.map",
            "Draw every vacuum and signal line: source, valve, user, what flows",
            (45, 90, 150),
            ENGINE_BAY,
            after=("car.photos",),
            note="Unmetered air matters everywhere from the meter to the cylinders, manifold included; "
            "purge and secondary air are designed flows. Deleting a line: does the control unit expect it?",
        ),
        UsualTask(
            "signal.fit",
            "Renew the signal hoses, clip both ends, route clear of heat",
            (60, 120, 210),
            ENGINE_BAY,
            BAY_OPEN,
            after=("signal.map", "car.turbo-on", "intake.fit"),
            note="Hose that sees boost swells: reinforced, of the bore that was there. Pressure sensor and"
            " regulator each have their own source.",
            setbacks=(
                UsualSetback(
                    "Replace a plastic nipple that broke off",
                    0.25,
                    (15, 40, 120),
                    "spare nipples and tees, warm water, clips",
                    note="Old plastic snaps: slit the hose, don't pull it.",
                ),
            ),
        ),
        UsualTask(
            "signal.servo",
            "Try the servo's one-way valve and hose, on a source behind the throttle",
            (15, 25, 45),
            ENGINE_BAY,
            after=("signal.fit",),
            caution="brakes and steering",
            note="Blow: it must pass to the engine only. Pedal high and hard with the engine off; "
            "that it sinks as the engine starts is looked at then.",
        ),
    ),
)
