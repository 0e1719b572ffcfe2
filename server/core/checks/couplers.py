"""Rules of what joins: a hose that fits its spigots, and a clamp that covers the hose."""

from collections.abc import Callable

from server.core.checks.facts import Facts
from server.core.checks.layout import End, HoseJoint, Joint
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import ANY_RUN, About, Findings, Found, Lever, Rule, RuleClass, for_each, plain
from server.core.phrase import Phrase, length, percent
from server.core.sources import source
from server.core.tube.run import Clamp, EndForm, JointKind
from server.core.units import Kind

_STILL_TIGHT = 1.5
"""A misfit up to so many times its limit is tight, not no-go; common practice, no source."""

_NO_GAP = 5e-5
"""A hose no more than this over its spigot reads as gripping it [m]."""

_SILICONES = frozenset({"silicone", "lined silicone", "fluorosilicone lined"})
_BOLTED_ENDS = frozenset({EndForm.FLANGE, EndForm.V_BAND, EndForm.THREAD})
HELD_ENDS = frozenset({EndForm.BEAD, EndForm.BARB})


def at_hose_joints(facts: Facts, judge: Callable[[Facts, HoseJoint], tuple[Found, ...]]) -> Findings:
    """Judge every joint that is a hose over a spigot; geometry of the run alone."""
    return for_each(
        facts.layout.hose_joints, lambda joint: joint.joint.item, lambda joint: judge(facts, joint)
    )


def coupler_fit(facts: Facts) -> Findings:
    """Hose bore against the spigot's outside diameter, stretch and looseness apart.

    Source: common practice.
    """
    odd = (_wrong_pair(joint) for joint in facts.layout.joints)
    return (*(found for found in odd if found is not None), *at_hose_joints(facts, _fit))


def _wrong_pair(joint: Joint) -> Found | None:
    """Two hoses, two spigots or a welded hose at one joint: no size can mend that."""
    before, after = joint.before, joint.after
    if before is None or after is None:
        return None
    kind = joint.plan.kind
    if kind is not JointKind.HOSE_AND_CLAMP and any(_slides(side, kind) for side in (before, after)):
        text, move = "At {joint} a hose is held by {kind}.", "Make {joint} a hose joint with a clamp."
    elif kind is not JointKind.HOSE_AND_CLAMP or before.is_hose != after.is_hose:
        return None
    elif before.is_hose:
        text, move = (
            "At {joint} two hoses meet: nothing to clamp on.",
            "Put a short beaded joiner into {joint}.",
        )
    else:
        text = "At {joint} no hose goes over the spigots."
        move = "Put a coupler between them at {joint}, or say what else holds it: weld, V-band, flange."
    words = {"joint": joint.label, "kind": kind.value}
    return plain(
        joint.item,
        False,
        lambda: About(Phrase(text, words), "joint", joint.number, moves=(Phrase(move, words),)),
    )


def _slides(side: End, kind: JointKind) -> bool:
    """Whether this side is a hose that this kind of joint can't hold; one may end in a moulded flange."""
    return side.is_hose and (kind is JointKind.WELD or side.form not in _BOLTED_ENDS)


def _fit(facts: Facts, at: HoseJoint) -> tuple[Found, ...]:
    hose, spigot = facts.bore(at.hose), facts.outside(at.spigot)
    most_stretch, most_loose = facts.limit("coupler.stretch"), facts.limit("coupler.loose")
    stretch, loose = spigot / hose - 1.0, hose - spigot
    words = {"hose": at.hose.label, "spigot": at.spigot.label, "joint": at.joint.label}

    def cures(rising: bool) -> tuple[Lever, ...]:
        phrase = Phrase("A hose bore of {value} at {joint} turns this to go.", words)
        # Hose is sold by the tube it goes over.
        bore = facts.bore_variable(at.hose)
        usual = spigot if ".bore" in bore else None
        return (Lever(bore, phrase, rising, number=at.joint.number, first=usual),)

    move = Phrase(
        "Put a reducing coupler at {joint}, {outside} on the side of {spigot}.",
        words,
        {"outside": length(spigot)},
    )

    def stretched() -> About:
        amounts = {
            "bore": length(hose),
            "outside": length(spigot),
            "stretch": percent(stretch),
            "most": percent(most_stretch),
        }
        text = "{hose}, {bore} bore, has to stretch {stretch} over {spigot}, {outside}; up to {most} passes."
        if stretch <= 0.0:
            text = "{hose}, {bore} bore, goes over {spigot}, {outside}, without stretching."
        return About(
            Phrase(text, words, amounts),
            "joint",
            at.joint.number,
            stretch,
            most_stretch,
            Kind.ratio,
            tight_margin=_STILL_TIGHT * most_stretch - stretch,
            levers=cures(True),
            moves=(move,),
        )

    def too_loose() -> About:
        amounts = {
            "bore": length(hose),
            "outside": length(spigot),
            "loose": length(loose),
            "most": length(most_loose),
        }
        text = "{hose}, {bore} bore, is {loose} larger than {spigot}, {outside}; up to {most} passes."
        if loose < _NO_GAP:
            text = "{hose}, {bore} bore, grips {spigot}, {outside}."
        return About(
            Phrase(text, words, amounts),
            "joint",
            at.joint.number,
            loose,
            most_loose,
            Kind.length,
            tight_margin=_STILL_TIGHT * most_loose - loose,
            levers=cures(False),
            moves=(move,),
        )

    return (
        Found(at.joint.item + ".stretch", most_stretch - stretch, stretched),
        Found(at.joint.item + ".loose", most_loose - loose, too_loose),
    )


def clamp(facts: Facts) -> Findings:
    """Clamp range against the hose's outside; kind of band against the hose.

    Source: SAE J1508 for what a range is.
    """
    return at_hose_joints(facts, _clamp_at)


def _clamp_at(facts: Facts, at: HoseJoint) -> tuple[Found, ...]:
    joint = at.joint.plan
    if joint.clamp is Clamp.NONE:
        phrase = Phrase("Choose the clamp of {joint}.", {"joint": at.joint.label})
        raise NotMeasured(phrase, f"joint.{joint.id}.clamp")
    band = _band(at)
    if band is not None and band.margin < 0.0:
        return (band,)
    over_tube = facts.outside(at.spigot) + 2.0 * facts.wall(at.hose)
    over_bead = over_tube + 2.0 * _bead_height(facts, at.spigot)
    least, most = (facts.size("joint", joint.id, name) for name in ("clamp_least", "clamp_most"))
    words = {"joint": at.joint.label}

    def closed() -> About:
        amounts = {"least": length(least), "hose": length(over_tube)}
        text = "The clamp at {joint} closes to {least}; tube and hose are {hose} there."
        move = Phrase("Take a clamp that closes to well under {hose} at {joint}.", words, amounts)
        lever = Lever(
            f"joint.{joint.id}.clamp_least",
            Phrase("A clamp that closes to {value} at {joint} turns this to go.", words),
            False,
            number=at.joint.number,
        )
        return About(
            Phrase(text, words, amounts),
            "joint",
            at.joint.number,
            least,
            over_tube,
            Kind.length,
            levers=(lever,),
            moves=(move,),
        )

    def opened() -> About:
        amounts = {"most": length(most), "bead": length(over_bead)}
        text = "The clamp at {joint} opens to {most}; hose over the bead is {bead}. It sits behind the bead."
        move = Phrase("Take a clamp that opens to well over {bead} at {joint}.", words, amounts)
        lever = Lever(
            f"joint.{joint.id}.clamp_most",
            Phrase("A clamp that opens to {value} at {joint} turns this to go.", words),
            number=at.joint.number,
        )
        return About(
            Phrase(text, words, amounts),
            "joint",
            at.joint.number,
            most,
            over_bead,
            Kind.length,
            levers=(lever,),
            moves=(move,),
        )

    ranges = (
        Found(at.joint.item + ".closed", over_tube - least, closed),
        Found(at.joint.item + ".open", most - over_bead, opened),
    )
    return ranges if band is None else (band, *ranges)


def _bead_height(facts: Facts, spigot: End) -> float:
    """Bead over the tube [m]: as typed, the usual one, or none on an end without a bead or barb."""
    if spigot.form not in HELD_ENDS:
        return 0.0
    typed = facts.size_or_none(spigot.owner_kind, spigot.owner.id, "bead_height")
    return facts.limit("bead.height") if typed is None else typed


def _band(at: HoseJoint) -> Found | None:
    """No bare worm drive on silicone; nothing to say about other rubbers."""
    if at.hose.owner.material not in _SILICONES:
        return None
    words = {"joint": at.joint.label, "clamp": at.joint.plan.clamp.value, "hose": at.hose.label}
    passes = at.joint.plan.clamp is not Clamp.BARE_WORM

    def about() -> About:
        text = "The {clamp} clamp at {joint} suits the silicone."
        if not passes:
            text = "A bare worm drive cuts into the silicone of {hose} at {joint}."
        return About(
            Phrase(text, words),
            "joint",
            at.joint.number,
            moves=(Phrase("Use a lined worm drive or a T-bolt clamp at {joint}.", words),),
        )

    return plain(at.joint.item + ".band", passes, about)


RULES = (
    Rule(
        "coupler-fit",
        "Couplers fit both spigots",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "stretch = D(spigot) / d(hose) − 1; looseness = d(hose) − D(spigot)",
        "Hose is sold by bore, tube by outside diameter: compare the two. Half as much again over a limit"
        " is tight.",
        ("coupler.stretch", "coupler.loose"),
        (source("practice"),),
        None,
        coupler_fit,
    ),
    Rule(
        "clamp",
        "Clamp range covers the hose",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "least ≤ D + 2 t(hose); most ≥ D + 2 h(bead) + 2 t(hose)",
        "Closes onto tube and hose, opens over the bead, sits behind it. No bare worm drive on silicone.",
        ("bead.height",),
        (source("practice"), source("j1508")),
        None,
        clamp,
    ),
)
