"""Engine management: calibration, sensors, and what must be proved before there is any boost."""

from server.core.work.usual.values import (
    BAY_OPEN,
    ENGINE_BAY,
    ON_WHEELS,
    OUTSIDE,
    UsualSetback,
    UsualSubsystem,
    UsualTask,
)

MANAGEMENT = UsualSubsystem(
    "engine management",
    "Engine management",
    tasks=(
        UsualTask(
            "tune.base",
            "Read out and keep the control unit's calibration as it is",
            (20, 40, 90),
            ENGINE_BAY,
            caution="battery",
            note="On a charged battery with a charger on it. Two copies, one away from the car.",
        ),
        UsualTask(
            "tune.delete",
            "For everything to be deleted: does the control unit expect it?",
            (20, 40, 90),
            after=("signal.map", "breather.trace", "law.ask"),
            note="A missing valve or sensor may mean a fault, limp mode, or an inspection failed.",
        ),
        UsualTask(
            "tune.who",
            "Settle who calibrates, and what they want fitted, logged and paid beforehand",
            (20, 45, 90),
            note="A base calibration for the first start, the rest on logs or rollers.",
        ),
        UsualTask(
            "tune.wideband",
            "Wire the wideband and its logging; the sensor stays out",
            (60, 105, 180),
            ENGINE_BAY,
            BAY_OPEN,
            after=("downpipe.fit",),
            caution="battery",
            note="A plug in its boss until the free-air check is done. Fused, earthed where its maker says.",
        ),
        UsualTask(
            "tune.sensors",
            "Fit and wire manifold pressure and knock sensors, lay the other sensors' leads",
            (60, 120, 240),
            ENGINE_BAY,
            BAY_OPEN,
            after=("tune.who", "car.turbo-on", "car.battery-off"),
            caution="battery",
            note="The pressure sensor must read beyond the boost asked and over-boost. Knock sensor on "
            "clean metal, to its torque.",
        ),
        UsualTask(
            "tune.meter",
            "Re-scale the calibration for the air meter's housing, or note that it is unchanged",
            (15, 30, 90),
            after=("tune.who",),
            readings=(("intake.meter", "bore"),),
            note="The reading changes about as the housing's area. Not re-scaled it may run lean under "
            "boost.",
            when=("meter ahead",),
        ),
        UsualTask(
            "tune.meter-after",
            "Re-scale the calibration for the air meter between cooler and throttle, or note that it is "
            "unchanged",
            (15, 30, 90),
            after=("tune.who",),
            note="The meter must bear boost and its heat; unmetered air counts from there on only.",
            when=("meter", "no meter ahead"),
        ),
        UsualTask(
            "tune.load",
            "Load a calibration matched to injectors, meter housing and sensors fitted",
            (20, 45, 120),
            ENGINE_BAY,
            after=(
                "tune.base",
                "tune.who",
                "tune.delete",
                "tune.sensors",
                "tune.meter",
                "tune.meter-after",
                "cooler.sensors",
                "fuel.injectors",
                "car.battery-on",
            ),
            note="Over-boost cut set low, just above spring pressure. Boost control off.",
        ),
        UsualTask(
            "tune.free-air",
            "Prove the wideband: free-air check, log against display; then screw the sensor in",
            (15, 25, 45),
            ENGINE_BAY,
            after=("tune.wideband", "tune.load", "exhaust.leak"),
            caution="hot parts",
            note="A sensor that was soaked or dropped lies. Both must read the same mixture. Once in the "
            "pipe it is powered whenever the engine runs.",
        ),
        UsualTask(
            "tune.compare",
            "Compare every sensor with the air outside, engine off and cold",
            (10, 20, 40),
            ENGINE_BAY,
            after=("tune.load", "cooler.sensors"),
            note="Pressure reads the day's barometer, temperatures the garage's thermometer. One that "
            "differs is mended before the start.",
        ),
        UsualTask(
            "tune.stop",
            "Write the stop limits down: mixture, knock, charge temperature, fuel and oil pressure, boost",
            (15, 30, 60),
            after=("tune.who",),
            note="Beforehand, with numbers, where the one who watches the log sees them. Any one reached: "
            "foot off.",
        ),
        UsualTask(
            "tune.cut",
            "Prove the over-boost cut: set it below spring pressure, one gentle pull, it must cut",
            (20, 40, 75),
            OUTSIDE,
            ON_WHEELS,
            after=("road.gentle", "road.leak", "tune.stop", "gate.lose"),
            hands=2,
            caution="boost",
            note="Then set it back to just above spring pressure. Not proved: no boost.",
            setbacks=(
                UsualSetback(
                    "Have the over-boost cut put right in the calibration, prove it again",
                    0.2,
                    (30, 60, 180),
                    "log of the pull",
                    "boost",
                ),
            ),
        ),
    ),
)
