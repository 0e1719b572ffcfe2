"""Rules of how a hot run is joined: whether it comes apart again, and what its welds are made with."""

from server.core.checks.facts import Facts
from server.core.checks.layout import End, Joint
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    AIR,
    HOT,
    About,
    Caution,
    Findings,
    Found,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
    plain,
)
from server.core.phrase import Phrase
from server.core.sources import source
from server.core.tube.run import JointKind, Place

_PARTS = frozenset({JointKind.V_BAND, JointKind.FLANGE, JointKind.HOSE_AND_CLAMP, JointKind.THREAD})
"""Joints that come apart with spanners: of a hot run, a hose and clamp is taken as a slip joint and band."""

STAINLESS = "stainless steel"
STEEL = "steel"
ALUMINIUM = "aluminium"
IRON = "cast iron"
TITANIUM = "titanium"

_FAMILIES = (
    (STAINLESS, ("stainless", "304", "316", "321", "347", "409")),
    (STEEL, ("aluminised steel", "aluminized steel")),
    (ALUMINIUM, ("alumin", "6061", "6060", "5083")),
    (TITANIUM, ("titanium",)),
    (IRON, ("iron",)),
    (STEEL, ("steel",)),
)
"""Words that name a family of metals, in the order in which they are looked for."""

_NICKEL = ("nickel", "nife", "eni", "erni", "ni-", "ni 55", "ni 99", "ni55", "ni99")
"""What names of nickel fillers hold; common practice, ask the welder."""

_USUAL = {
    frozenset({STAINLESS}): ("308L; 347 for 321, 316L for 316", ("308", "316", "347", "321")),
    frozenset({STAINLESS, STEEL}): ("309L", ("309",)),
    frozenset({STEEL}): ("ER70S-6", ("70S",)),
    frozenset({ALUMINIUM}): ("4043", ("4043",)),
    frozenset({TITANIUM}): ("titanium of the same grade", ("erti", "titan")),
    frozenset({IRON}): ("a nickel filler made for cast iron", _NICKEL),
    frozenset({IRON, STEEL}): ("a nickel filler made for cast iron", _NICKEL),
    frozenset({IRON, STAINLESS}): ("a nickel filler made for cast iron", (*_NICKEL, "309")),
}
"""Usual filler of two families: in words, and what its name holds. Common practice, ask the welder."""


_CARE = {
    STAINLESS: "Purge inside.",
    TITANIUM: "Purge inside, and keep gas on it until it is cool.",
    ALUMINIUM: "No purge: brush the oxide off just before, with a brush that never touched steel.",
    IRON: "Warm it through before, and let it cool slowly.",
}
"""What each metal asks of the weld, beside the filler. Common practice, ask the welder."""


def family(material: str) -> str | None:
    """The family of metals that a builder's word belongs to, None where it is none of those known here.

    >>> family("304 stainless")
    'stainless steel'
    """
    low = material.lower()
    return next((name for name, words in _FAMILIES if any(word in low for word in words)), None)


def comes_apart(facts: Facts) -> Findings:
    """Joints that come apart: enough of them for what is welded to come out again. Source: practice."""
    if not facts.plan.pieces:
        return ()
    joints = [joint for joint in facts.layout.joints if joint.before is not None and joint.after is not None]
    loose = [joint for joint in joints if joint.plan.kind in _PARTS]
    asked = 2 if facts.plan.place is Place.DOWNPIPE else 1
    if asked > len(loose) and len(joints) < len(facts.layout.joints):
        raise NotMeasured(Phrase("Choose the ports where the run starts and ends."))
    return (plain("run", len(loose) >= asked, lambda: _about_apart(loose, asked)),)


def _about_apart(loose: list[Joint], asked: int) -> About:
    words = {"joints": ", ".join(joint.label for joint in loose)}
    move = Phrase("Make the joint at the turbine a V-band or flange, and one before the part that stays.")
    if not loose:
        text = "Welded from end to end: nothing of it comes out again without a saw."
        return About(Phrase(text), moves=(move,))
    if len(loose) < asked:
        move = Phrase(
            "Make one more joint a V-band or flange: at the turbine and before the part that stays."
        )
        text = "Only {joints} comes apart: the rest comes out only together with what it is welded to."
        return About(Phrase(text, words), "joint", loose[0].number, tight_margin=1.0, moves=(move,))
    return About(Phrase("It comes apart at {joints}.", words), "joint", loose[0].number)


def filler(facts: Facts) -> Findings:
    """The filler of each weld against the two metals that it joins.

    Source: AWS A5.9, A5.18 and A5.10 for what a class is; which one is usual, common practice.
    """
    welds = [joint for joint in facts.layout.joints if joint.plan.kind is JointKind.WELD]
    return for_each(welds, lambda joint: joint.item, _filler_at)


def _filler_at(joint: Joint) -> tuple[Found, ...]:
    if joint.before is None or joint.after is None:
        raise NotMeasured(Phrase("Choose the ports where the run starts and ends."))
    metals = frozenset({_family_of(joint.before), _family_of(joint.after)})
    words = {
        "joint": joint.label,
        "metals": " and ".join(sorted(metals)),
        "filler": joint.plan.filler,
    }
    usual = _USUAL.get(metals)
    if usual is None:
        text = "At {joint} {metals} can't be welded to each other."
        move = Phrase("Join {metals} at {joint} by a V-band or flange.", words)
        return (_told(joint, False, Phrase(text, words), move),)
    words |= {"usual": usual[0]}
    if not joint.plan.filler:
        text = (
            "Say the filler at {joint}, {metals}. Usual is {usual}: common practice, confirm with the welder."
        ) + _care(metals)
        raise NotMeasured(Phrase(text, words), f"{joint.item}.filler")
    fits = any(word.lower() in joint.plan.filler.lower() for word in usual[1])
    text = "{joint}, {metals}: filler {filler}." + _care(metals)
    if not fits:
        text = "{joint}, {metals}: filler {filler}; usual is {usual}."
    move = Phrase("Ask the welder whether {filler} will do at {joint}; usual is {usual}.", words)
    return (_told(joint, fits, Phrase(text, words), move, tight=True),)


def _care(metals: frozenset[str]) -> str:
    """What the weld of these metals asks for beside the filler. Common practice, ask the welder."""
    return "".join(f" {_CARE[metal]}" for metal in sorted(metals) if metal in _CARE)


def _family_of(end: End) -> str:
    found = family(end.owner.material)
    if found is None:
        raise NotMeasured(Phrase("Say which metal {end} is of.", {"end": end.label}))
    return found


def _told(joint: Joint, passes: bool, phrase: Phrase, move: Phrase, tight: bool = False) -> Found:
    margin = 1.0 if tight else None

    def about() -> About:
        return About(phrase, "joint", joint.number, tight_margin=margin, moves=(move,))

    return plain(joint.item, passes, about)


RULES = (
    Rule(
        "comes-apart",
        "Joints that come apart",
        HOT,
        RuleClass.PERFORMANCE,
        "V-bands, flanges, slip joints ≥ 2 for a downpipe, 1 for an exhaust",
        "What is welded must come out again: a downpipe at the turbine and before the part that stays. One "
        "is tight, none is no-go.",
        (),
        (source("practice"),),
        None,
        comes_apart,
    ),
    Rule(
        "filler",
        "Filler for the metals joined",
        HOT | AIR,
        RuleClass.PERFORMANCE,
        "filler class suits both metals: stainless 308L, stainless to steel 309L, steel ER70S-6",
        "Another than the usual is tight: ask the welder. Stainless is purged inside, or its root burns; "
        "aluminium is not. Aluminium to steel is no-go.",
        (),
        (source("practice"), source("filler-stainless"), source("filler-steel")),
        Caution(
            SignalWord.WARNING,
            "Hot work: weld off the car, battery off, coatings ground back, no chlorinated cleaner near it, "
            "a fire watch after it. The welder and local codes have the last word.",
        ),
        filler,
    ),
)
