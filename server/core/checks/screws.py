"""Rule of where a clamp's screw is turned to: where a tool reaches it, and against no hose.

It speaks only of clamps whose screw somebody looked at, on the car: nobody knows before.
"""

from server.core.checks.facts import Facts
from server.core.checks.layout import Joint
from server.core.checks.rule import (
    ANY_RUN,
    About,
    Caution,
    Findings,
    Found,
    Rule,
    RuleClass,
    SignalWord,
    plain,
)
from server.core.phrase import Phrase
from server.core.sources import source
from server.core.tube.run import JointKind, Screw

_TEXTS = {
    Screw.REACHED: ("A tool reaches the screw of the clamp at {joint}{at}.", "Leave it as it is."),
    Screw.HOSE: (
        "The screw of the clamp at {joint}{at} stands against a hose: it rubs through.",
        "Turn the clamp at {joint} until nothing touches its screw, the engine rocked by hand too.",
    ),
    Screw.UNREACHED: (
        "No tool reaches the screw of the clamp at {joint}{at}.",
        "Turn the clamp at {joint} until a socket or a flexible driver reaches it with all in place.",
    ),
}


def screws(facts: Facts) -> Findings:
    """What was seen of each clamp's screw. Source: common practice."""
    clamped = (joint for joint in facts.layout.joints if joint.plan.kind is JointKind.HOSE_AND_CLAMP)
    return tuple(_seen(joint) for joint in clamped if joint.plan.screw is not Screw.NOT_SAID)


def _seen(joint: Joint) -> Found:
    text, move = _TEXTS[joint.plan.screw]
    at = f" ({joint.plan.screw_at})" if joint.plan.screw_at else ""
    words = {"joint": joint.label, "at": at}

    def about() -> About:
        return About(Phrase(text, words), "joint", joint.number, moves=(Phrase(move, words),))

    return plain(joint.item, joint.plan.screw is Screw.REACHED, about)


RULES = (
    Rule(
        "clamp-screw",
        "Clamp screws reached, against no hose",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "each clamp whose screw was looked at: a tool reaches it, no hose touches it",
        "By the clock as the flow sees it, and by the tool. Says nothing of a clamp that nobody looked at.",
        (),
        (source("practice"),),
        Caution(
            SignalWord.WARNING,
            "A screw that rubs through a fuel, oil or brake hose feeds a fire or leaves no brake: change a"
            " hose that it touched. Local codes and licensed practice come first.",
        ),
        screws,
    ),
)
