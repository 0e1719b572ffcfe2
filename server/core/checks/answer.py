"""Every check of a run answered at once, with what settles and what cures it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

from scipy.special import ndtri

from server.core.air.cost import LossCost
from server.core.checks.again import Judging, judge_again
from server.core.checks.case import Case
from server.core.checks.cure import Beside, Cure, CureKind, move_cure, number_cure
from server.core.checks.facts import Facts
from server.core.checks.flow import RunFlow, can_flow, flow_of, loss_cost, narrowest
from server.core.checks.judge import LOSS, Item, Judged, chance_of_all
from server.core.checks.layout import piece_label
from server.core.checks.limits import LIMITS, Changed
from server.core.checks.missing import Missing, NotMeasured
from server.core.checks.names import BY_CALIPER, is_method, plain_name
from server.core.checks.register import figure_rules_for, rules_for
from server.core.checks.rule import GRAVEST_FIRST, Rule, RuleClass, Verdict, may_concede
from server.core.measure.doubt import Response
from server.core.phrase import Phrase, percent
from server.core.units import Kind

_WORTH_A_READING = 0.02
"""Chance of passing under which no reading will turn a check."""

MOST_OFF = 0.02
"""How far a chance may be off by how it was found, before that is told [-]."""

_DISPUTED_FROM = 5e-4
"""A chance is called disputed between this and as much under one."""

_MUCH_OF_THE_DOUBT = 0.1
"""From this part of the variance on a chance is called disputed, and a variable weighty."""

UNSETTLED = frozenset({Verdict.TIGHT, Verdict.NO_GO})
"""Verdicts of a check that is open unless it is conceded."""

_MAY_ALL_PASS = frozenset({Verdict.GO, Verdict.TIGHT})
"""Gravest verdicts of a run that say less than the chance that all its checks pass."""

_TYPED_FIGURES = frozenset({"holds", "clamp_least", "clamp_most"})
"""Figures of a joint that come from a test or a maker."""


class Finding(NamedTuple):
    """One item of a check, told.

    item: its key. concerns: "piece", "joint", "port" or "run", with its number. margin: zero or more
    passes, in the rule's own unit. probability: of passing, None for a plain yes or no. value, doubt,
    limit: [SI unit of kind]. off: as `Check.off`.
    """

    item: str
    concerns: str
    number: int | None
    margin: float
    tight_margin: float | None
    probability: float | None
    value: float | None
    doubt: float | None
    limit: float | None
    kind: Kind | None
    phrase: Phrase
    off: float


@dataclass(frozen=True, slots=True)
class Settling:
    """The reading whose doubt matters most. share: of the variance [-].

    enough: taking it well settles the check.
    """

    variable: str
    name: str
    share: float
    enough: bool
    phrase: Phrase


class Check(NamedTuple):
    """One rule answered.

    probability: of passing, None where nothing doubtful stands behind it or it is not measured. phrase:
    what is found, the worst item's, or what is missing. finding: the worst item. conceded: the reason,
    where it was accepted. changed: limits of this rule that were changed for the build. disputed: how much of
    the doubt comes from how losses are reckoned, where authorities differ; None where that is little. off:
    how far the probability may be off by how it was found [-], 0 where that is less than `MOST_OFF`.
    weighty: of a tight or no-go check, the variables that cause much of the doubt of what is in question.
    """

    rule: Rule
    verdict: Verdict
    probability: float | None
    phrase: Phrase
    finding: Finding | None
    items: tuple[Finding, ...]
    missing: tuple[Missing, ...]
    settles: Settling | None
    cure: Cure | None
    conceded: str | None
    changed: tuple[Changed, ...] = ()
    disputed: Phrase | None = None
    off: float = 0.0
    weighty: tuple[str, ...] = ()

    @property
    def holds_work(self) -> bool:
        """A no-go holds work until cured, or conceded where that is allowed."""
        return self.verdict is Verdict.NO_GO and self.conceded is None


@dataclass(frozen=True, slots=True)
class Narrowest:
    """The narrowest piece of a run: its number, its label and its bore [m]."""

    number: int
    label: str
    bore: float


@dataclass(frozen=True, slots=True)
class Answers:
    """A run answered.

    all_pass: chance that every check passes at once, sampled jointly, None where one is not measured or
    no-go: that is the answer then. off: how far that may be off [-], as `Check.off`. flow: None where it
    can't be marched. loss_doubt: [Pa], None where it chokes. cost: of the loss, None without flow or fuel.
    """

    checks: tuple[Check, ...]
    all_pass: float | None
    off: float
    flow: RunFlow | None
    loss_doubt: float | None
    cost: LossCost | None
    narrowest: Narrowest | None

    def verdict(self) -> Verdict:
        """The gravest verdict: no-go, then not measured, then tight, then go.

        A concession changes nothing here.
        """
        return _gravest(self.checks)


@dataclass(frozen=True, slots=True)
class Answered:
    """A run answered, from which it is answered again once some of its sizes changed.

    judging: of its rules. checks: by code of the rule.
    """

    judging: Judging
    checks: Mapping[str, Check]

    def still(self, judged: Judged) -> Check | None:
        """The check of a rule that stands as it was judged; an open one is told anew, as other rules speak in
        its cure.
        """
        code = judged.rule.code
        stands = self.judging.judged.get(code) is judged and judged.verdict not in UNSETTLED
        return self.checks[code] if stands else None


def answer(case: Case) -> Answers:
    """Answer every rule that applies to a run.

    One bundle of facts for each perturbed reading serves all rules; one reading is one variable. Raises
    ValueError for a plan whose joints are not one more than its pieces. Source of each rule: its own.
    """
    return answer_again(case, None)[0]


def answer_again(case: Case, before: Answered | None) -> tuple[Answers, Answered]:
    """As `answer`, what an edit left alone taken from before it; and what the next edit may take.

    before: from the answering of the same run as it was, if there is one.
    """
    return _answer(case, rules_for(case.plan.place), before)


def answer_figures(case: Case) -> Answers:
    """Answer the rules that need no run, of a subsystem that has no design yet."""
    return _answer(case, figure_rules_for(case.plan.place), None)[0]


def _answer(case: Case, rules: Sequence[Rule], before: Answered | None) -> tuple[Answers, Answered]:
    facts = Facts.at_best(case)
    judged, response, judging = judge_again(case, rules, facts, before.judging if before else None)
    beside = Beside(judged)
    checks = tuple(
        (before.still(one) if before else None) or _check(facts, one, beside, response) for one in judged
    )
    flow = flow_of(facts) if can_flow(facts) else None
    all_pass, off = None, 0.0
    if _gravest(judged) in _MAY_ALL_PASS:
        all_pass, off = chance_of_all([item for one in judged for item in one.items], response)
    answers = Answers(
        checks=checks,
        all_pass=all_pass,
        off=_told_off(off),
        flow=flow,
        loss_doubt=response.doubt(LOSS) * flow.loss if flow is not None and flow.choked_at is None else None,
        cost=loss_cost(facts) if flow is not None else None,
        narrowest=_narrowest(facts),
    )
    return answers, Answered(judging, {check.rule.code: check for check in checks})


def _gravest(found: Iterable[Judged | Check]) -> Verdict:
    """The gravest of their verdicts; not measured where there are none."""
    return min((one.verdict for one in found), key=GRAVEST_FIRST.index, default=Verdict.NOT_MEASURED)


def _narrowest(facts: Facts) -> Narrowest | None:
    if not facts.plan.pieces:
        return None
    try:
        piece = narrowest(facts)
    except NotMeasured:
        return None
    return Narrowest(piece.number, piece_label(piece), facts.bore(facts.narrower_end(piece)))


def _check(facts: Facts, judged: Judged, beside: Beside, response: Response) -> Check:
    case = facts.case
    items = tuple(_finding(item) for item in judged.items)
    measured = judged.verdict is not Verdict.NOT_MEASURED
    phrase = items[0].phrase if measured else judged.missing[0].phrase
    doubtful = measured and any(item.probability is not None for item in items)
    unsettled = judged.verdict in UNSETTLED
    settles = _settling(case, judged, response) if unsettled else None
    reason = case.concessions.get(judged.rule.code) if may_concede(judged.rule) else None
    conceded = reason if unsettled else None
    return Check(
        rule=judged.rule,
        verdict=judged.verdict,
        probability=judged.probability if doubtful else None,
        phrase=phrase,
        finding=items[0] if items else None,
        items=items,
        missing=judged.missing,
        settles=settles,
        cure=_cure(facts, judged, beside, settles),
        conceded=conceded,
        changed=changed_limits(case, judged.rule),
        disputed=_disputed(case, judged, response) if measured else None,
        off=_told_off(judged.off) if doubtful else 0.0,
        weighty=_weighty(judged, response) if unsettled else (),
    )


def _weighty(judged: Judged, response: Response) -> tuple[str, ...]:
    """The variables that cause much of the variance of any item in question."""
    in_question = (
        item for item in judged.items if not item.found.yes_or_no and item.probability < judged.asked
    )
    found = (name for item in in_question for name in response.weighty(item.output, _MUCH_OF_THE_DOUBT))
    return tuple(dict.fromkeys(found))


def _told_off(off: float) -> float:
    return off if off > MOST_OFF else 0.0


def _disputed(case: Case, judged: Judged, response: Response) -> Phrase | None:
    """What of the worst item's doubt comes from a method, where that is more than a little."""
    worst = judged.items[0] if judged.items else None
    if (
        worst is None
        or worst.found.yes_or_no
        or not _DISPUTED_FROM <= judged.probability <= 1.0 - _DISPUTED_FROM
    ):
        return None
    methods = [(name, share) for name, share in response.shares(worst.output) if is_method(name)]
    if not methods or sum(share for _, share in methods) < _MUCH_OF_THE_DOUBT:
        return None
    text = "{share} of this doubt is {name}: authorities differ."
    variable, share = methods[0]
    return Phrase(text, {"name": plain_name(case.plan, variable)}, {"share": percent(share)})


def changed_limits(case: Case, rule: Rule) -> tuple[Changed, ...]:
    """The limits that a rule rests on and that were changed for this build, how sure it must be included."""
    asked = ("chance.no_go",) if rule.rule_class is RuleClass.INJURY else ("chance.go", "chance.no_go")
    return tuple(
        Changed(LIMITS[key], case.limits[key], case.limit_reasons.get(key, ""))
        for key in (*rule.limit_keys, *asked)
        if key in case.limits
    )


def _finding(item: Item) -> Finding:
    about = item.about
    no_doubt = item.found.yes_or_no
    return Finding(
        item=item.found.item,
        concerns=about.concerns,
        number=about.number,
        margin=item.margin,
        tight_margin=about.tight_margin,
        probability=None if no_doubt else item.probability,
        value=about.value,
        doubt=None if no_doubt or about.value is None else item.doubt * about.doubt_scale,
        limit=about.limit,
        kind=about.kind,
        phrase=about.phrase,
        off=_told_off(item.off),
    )


def _settling(case: Case, judged: Judged, response: Response) -> Settling | None:
    """The reading with the largest part in the worst item's doubt; None where no reading could turn it."""
    worst = judged.items[0]
    if worst.found.yes_or_no or worst.probability < _WORTH_A_READING:
        return None
    shares = [one for one in response.shares(worst.output) if not is_method(one[0])]
    if not shares:
        return None
    variable, share = shares[0]
    rest = float(ndtri(judged.asked)) * worst.doubt * sqrt(max(1.0 - share, 0.0))
    name = plain_name(case.plan, variable)
    text = "Make sure of the {name}: {share} of the doubt comes from it."
    size = variable.rpartition(".")[2]
    if not variable.startswith("engine.") and size not in _TYPED_FIGURES:
        text = "Measure the {name} again{instead}: {share} of the doubt comes from it."
    if size.startswith(BY_CALIPER):
        text = "Measure the {name} again with a caliper{instead}: {share} of the doubt comes from it."
    taken = case.taken_with.get(variable, "")
    words = {"name": name, "instead": f" instead of {taken}" if taken else ""}
    phrase = Phrase(text, words, {"share": percent(share)})
    return Settling(variable, name, share, worst.margin >= rest, phrase)


def _cure(facts: Facts, judged: Judged, beside: Beside, settles: Settling | None) -> Cure | None:
    """Where doubt alone stops it, the reading; else a number that turns it, a move, a reading last."""
    if judged.verdict not in UNSETTLED:
        return None
    reading = None if settles is None else Cure(CureKind.READING, settles.phrase, settles.variable)
    doubt_alone = all(item.margin >= 0.0 for item in judged.items)
    if doubt_alone and settles is not None and settles.enough:
        return reading
    number = None if judged.missing else number_cure(facts, judged, beside)
    return number or move_cure(judged) or reading
