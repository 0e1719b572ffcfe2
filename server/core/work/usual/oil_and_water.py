"""Oil feed and drain, coolant lines and heater hoses."""

from server.core.work.usual.values import (
    BAY_OPEN,
    ENGINE_BAY,
    HOUR,
    ON_STANDS,
    UNDER,
    UsualPort,
    UsualSetback,
    UsualSubsystem,
    UsualTask,
)

FEED = UsualSubsystem(
    "oil feed",
    "Oil feed",
    ports=(
        UsualPort("feed.block", "Oil feed at the block", shape="hole", medium="oil", end_form="thread"),
        UsualPort("feed.turbo", "Oil feed at the turbo", shape="hole", medium="oil", end_form="thread"),
        UsualPort(
            "feed.sender",
            "Oil pressure gauge or sender",
            role="side port",
            shape="hole",
            medium="oil",
            end_form="thread",
        ),
    ),
    tasks=(
        UsualTask(
            "feed.journal",
            "Read the turbo maker's drawing: a journal bearing usually takes no restrictor",
            (10, 20, 40),
            note="A needless restrictor kills the bearing. Size of the line as the maker says.",
            when=("journal bearing",),
        ),
        UsualTask(
            "feed.ball",
            "Read the turbo maker's drawing: a ball bearing often wants a restrictor; which bore",
            (10, 20, 40),
            note="Often built in already: never a second one. A filter in the feed only where the maker "
            "asks for it.",
            when=("ball bearing",),
        ),
        UsualTask(
            "feed.gauge",
            "Fit an oil pressure gauge or sender at the feed's source",
            (30, 60, 120),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.drain-oil", "car.battery-off"),
            caution="oil",
            note="It must read while cranking: the lamp alone does not show enough.",
        ),
        UsualTask(
            "feed.fit",
            "Fit the oil feed, clean fittings, clear of the turbine",
            (40, 75, 150),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.turbo-on", "feed.journal", "feed.ball", "feed.gauge"),
            caution="oil",
            carry="flare spanners, new washers, clean oil, lint-free cloth",
            readings=(("feed.block", "bore"), ("feed.turbo", "bore")),
            design=("decision", "checks", "to fit"),
            note="No tape or sealant in a feed: a thread of it blocks the bearing. Flush the new hose "
            "first; clean oil into the turbo, its wheel turned by a finger, before the line goes on. Steel "
            "braid saws through what it touches.",
        ),
    ),
)

DRAIN = UsualSubsystem(
    "oil drain",
    "Oil drain",
    ports=(
        UsualPort("drain.turbo", "Oil drain of the turbo", shape="flange", medium="oil", end_form="flange"),
        UsualPort(
            "drain.pan",
            "Drain entry at the pan or block",
            medium="oil",
            end_form="bead",
            note="Above the oil level with the engine running and in bends. A turbo that sits too low for "
            "that needs a pump that draws the oil back.",
        ),
    ),
    tasks=(
        UsualTask(
            "drain.level",
            "Mark the oil level on the pan's outside, car level",
            (10, 20, 30),
            UNDER,
            ON_STANDS,
            after=("car.stands", "car.undertray"),
            carry="marker, rule, dipstick, torch",
            note="Before the oil is let out. The drain enters above it.",
        ),
        UsualTask(
            "drain.mock-up",
            "Offer an old hose up as the drain: falling all the way",
            (20, 40, 75),
            UNDER,
            ON_STANDS,
            after=("car.turbo-on", "drain.level"),
            carry="old hose, marker, small level, torch",
            note="No rise, no sag, no kink; away from downpipe and starter.",
        ),
        UsualTask(
            "drain.pan-off",
            "Take the oil pan off, clean it",
            (60, 150, 480),
            UNDER,
            ON_STANDS,
            after=("car.drain-oil", "drain.mock-up"),
            caution="lifting",
            carry="sockets, plastic scraper, tray, rags, torch",
            note="Not where the drain's entry stays as it was. Cover the crank from below: sparks and "
            "swarf. Is a subframe or mount in the way: support the engine from above as the manual says; its "
            "bolts new, the wheels aligned afterwards.",
            setbacks=(
                UsualSetback(
                    "Straighten the pan's flange or drill out a pan bolt",
                    0.15,
                    (20, 45, 120),
                    "dolly, hammer, drills, tap",
                    "seized fasteners",
                ),
            ),
        ),
        UsualTask(
            "drain.bung",
            "Weld the drain's bung into the pan, try it with paraffin",
            (45, 90, 150),
            after=("drain.pan-off", "car.visit-ready"),
            hands=2,
            helper_skill="welds the pan's metal",
            hot_work=True,
            note="Washed and degreased inside and out first, dry and open, never with chlorinated cleaner. "
            "Bolted to a plate it stays flat. Every grain out. Chalk outside, paraffin inside, cold.",
        ),
        UsualTask(
            "drain.pan-on",
            "Bolt the pan on with fresh sealant",
            (60, 90, 180),
            UNDER,
            ON_STANDS,
            later=(("drain.bung", 2 * HOUR),),
            caution="chemicals",
            carry="sealant, torque wrench, clean cloths, torch",
            note="A thin bead: what squeezes out inside ends in the pick-up. Oil goes in only after it "
            "cured.",
        ),
        UsualTask(
            "drain.fit",
            "Fit the oil drain, falling all the way",
            (30, 60, 120),
            UNDER,
            ON_STANDS,
            after=("drain.pan-on", "car.turbo-on", "drain.mock-up"),
            caution="oil",
            carry="hose, two clamps, gasket, screwdriver, torch, mirror",
            readings=(("drain.turbo", "bore"),),
            design=("decision", "checks", "to fit"),
            note="Oil hose that stands the heat, never plain silicone. A weep over the turbine is a fire. "
            "Settle now how its flow will be seen at first start.",
        ),
    ),
)

COOLANT = UsualSubsystem(
    "coolant",
    "Coolant lines",
    ports=(
        UsualPort("water.in", "Coolant in at the turbo", shape="hole", medium="coolant", end_form="thread"),
        UsualPort("water.out", "Coolant out at the turbo", shape="hole", medium="coolant", end_form="thread"),
        UsualPort("water.source", "Coolant feed at the engine", medium="coolant", end_form="barb"),
        UsualPort("water.engine", "Coolant return at the engine", medium="coolant", end_form="barb"),
    ),
    tasks=(
        UsualTask(
            "water.mock-up",
            "Offer old hoses up for the turbo's coolant lines",
            (20, 40, 75),
            ENGINE_BAY,
            BAY_OPEN,
            after=("car.turbo-on", "car.drain-coolant"),
            note="The return rises all the way: after switch-off hot water climbs by itself. Order on the "
            "mock-up.",
        ),
        UsualTask(
            "water.fit",
            "Fit the turbo's coolant lines",
            (40, 75, 150),
            ENGINE_BAY,
            BAY_OPEN,
            after=("water.mock-up",),
            caution="coolant",
            carry="new washers, spanners, clamps, torch",
            readings=(("water.in", "bore"),),
            design=("decision", "checks", "to fit"),
            note="Hard line where it turns sharply or passes the turbine. No bend under the hose's least "
            "radius.",
        ),
    ),
    when=("water",),
)

HEATER = UsualSubsystem(
    "heater hoses",
    "Heater hoses",
    ports=(
        UsualPort("heater.flow", "Heater flow at the engine", medium="coolant", end_form="bead"),
        UsualPort("heater.bulkhead", "Heater pipe at the bulkhead", medium="coolant", frame="body"),
    ),
    tasks=(
        UsualTask(
            "heater.look",
            "Look over the heater hoses: soft, oily, near the hot side",
            (10, 20, 30),
            ENGINE_BAY,
            after=("car.drain-coolant",),
            note="Slit a stuck hose, never lever on the heater's pipes.",
            setbacks=(
                UsualSetback(
                    "Mend a heater pipe that cracked at the bulkhead",
                    0.1,
                    (60, 180, 480),
                    "pipe, clamps, coolant, rags",
                    "coolant",
                ),
            ),
        ),
        UsualTask(
            "heater.mock-up",
            "Offer an old hose up where the heater hoses must move",
            (15, 30, 60),
            ENGINE_BAY,
            BAY_OPEN,
            after=("heater.look", "downpipe.mock-up"),
            note="Engine to body: the hose takes the roll. S or L shape, or hard line with two short hoses.",
        ),
        UsualTask(
            "heater.fit",
            "Fit the heater hoses",
            (25, 45, 90),
            ENGINE_BAY,
            BAY_OPEN,
            after=("heater.mock-up", "car.turbo-on"),
            caution="coolant",
            carry="clamps, screwdriver, torch",
            design=("decision", "to fit"),
            note="No high spot without a bleed; sleeve where it passes the hot side.",
        ),
    ),
)
