"""What the builder wrote in the log, evening by evening."""

from seed_demo.hand import Hand, typed
from server.features.log import service as log

NOTES = (
    (-45, "Car on four stands, rear first. Forty photos, every hose tagged at both ends."),
    (
        -38,
        "Front pipe off. Three studs came after a night in fluid, the fourth snapped flush. It gets "
        "drilled out tomorrow.",
    ),
    (-37, "Stud drilled out. It wound itself out half-way on the left-hand drill; the thread took a tap."),
    (
        -31,
        "Turbo bolted on. Compressor inlet is 101.6 outside and the meter 80: they do not know each other.",
    ),
    (
        -19,
        "The V-band clamp comes close to the steering shaft. Wheels straight there is room; at full lock I "
        "could not see. To be read before anything is tacked.",
    ),
    (
        -15,
        "Pulled a beaded 63.5 stub out of a coupler with the engine crane and the hanging scale: T-bolt "
        "behind the bead held 1.4 kN, then began to creep. Typed in as what a joint holds.",
    ),
    (-6, "Cooler pipe is in. Paint line across all six joints."),
    (
        -5,
        "Card downpipe touches the clutch slave line. Clocked 15° further out it clears that and the starter "
        "motor. Slave line gets a sleeve all the same.",
    ),
    (
        -4,
        "Drain flange arrived with the wrong bolt spacing, 44 for 38. Photo sent, it goes back tomorrow, the "
        "right one is promised. Pan can come off meanwhile.",
    ),
    (
        -2,
        "The old kit's elbow says 2 in. That is its outside: not even 48 bore, and the compressor gives 57. "
        "Drawn in to see what it costs, beside a bought pipe with its bend in it, shortened.",
    ),
    (-1, "Half the pan bolts out before the lamp gave up. Reducer still not here."),
)
"""Days from today, and the note."""


def write(hand: Hand) -> None:
    for day, text in NOTES:
        hand.notes[day] = log.add_note(
            hand.session, hand.build_id, typed(text=text), hand.moment(day, "22:10"), "builder"
        )
