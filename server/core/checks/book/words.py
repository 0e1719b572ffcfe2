"""The words of this program, for the handbook."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Term:
    """A word of this program and what it means."""

    word: str
    meaning: str


TERMS = tuple(
    Term(*pair)
    for pair in (
        ("build", "one car's conversion, from tear-down to first drive"),
        ("engine sheet", "the engine's numbers: displacement, redline, volumetric efficiency, boost, fuel"),
        ("port", "an opening or spigot that something joins to: where it is, which way it faces, what flows"),
        ("reading", "one measurement of one dimension, with instrument, doubt, time and photo"),
        ("doubt", "one standard uncertainty: two readings in three lie within it"),
        ("subsystem", "intake, charge pipe, downpipe, oil drain and so on"),
        ("design", "one candidate way to make a subsystem; of several, one is chosen"),
        ("run", "the ordered pieces of a design, from one port to another, in flow direction"),
        ("piece", "straight, bend, coupler, reducer, flex, flange, hose, or a salvaged pipe to cut down"),
        ("bung", "a side port added to a piece"),
        (
            "joint",
            "what holds two pieces: hose over bead with clamp, weld, V-band, flange and gasket, thread",
        ),
        ("keep-out", "a solid to stay clear of: fixed, hot or moving, with the gap it needs"),
        ("check", "one rule applied to a design; its verdict is go, tight, no-go or not measured"),
        ("concession", "a performance check accepted as it is, with the reason written down (ISO 9000)"),
        (
            "back pressure",
            "what stands at the turbine's outlet above the air outside; it costs power and heat",
        ),
        ("mock-up", "card, wire or an old hose that stands in a run until a real piece takes its place"),
        ("part", "something that can be bought, made or salvaged"),
        ("need", "a quantity of a part that a chosen design or a task calls for"),
        ("shelf", "what is in the garage, off-cuts included"),
        ("order, delivery", "what was bought from whom; what arrived of it"),
        ("task", "a piece of work: ready, held, in hand or done"),
        ("hold", "one reason why a task can't start, with its root"),
        ("stint", "one block of garage time: an evening, a Saturday"),
        ("log", "what happened, and when"),
    )
)
"""Our words, in the order in which a build meets them."""
