"""A run judged again after an edit: a rule none of whose sizes changed stands as it was found.

What a rule finds rests on the sizes that it read, which are noted, and on all of the case that is no size.
Its draws are those of the readings that it rests on, each a stream of its own: what was found of its outputs
is what would be found again.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from operator import attrgetter

from server.core.checks.at_once import Look
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.flow import flow_reads
from server.core.checks.judge import LOSS, InQuestion, Judged, in_question
from server.core.checks.rule import Rule
from server.core.measure.doubt import Response
from server.core.measure.estimate import Estimate
from server.core.measure.output import Output
from server.core.tube.run import JointPlan, NeighbourPlan, PiecePlan, PortPlan, RunPlan

Shape = tuple[object, ...]
"""A case without its sizes, to be compared."""


def _but(kind: type, *left_out: str) -> Callable[[object], object]:
    """What reads all fields of such a thing, some left out."""
    return attrgetter(*(one.name for one in fields(kind) if one.name not in left_out))


_OF_CASE = _but(Case, "plan")
_OF_PLAN = _but(RunPlan, "start", "end", "pieces", "joints", "side_ports", "neighbours")
_OF_PORT, _OF_PIECE = _but(PortPlan, "sizes"), _but(PiecePlan, "sizes")
_OF_JOINT, _OF_NEIGHBOUR = _but(JointPlan, "sizes"), _but(NeighbourPlan, "sizes")


@dataclass(frozen=True, slots=True)
class Judging:
    """A case judged, from which it is judged again once some of its sizes changed.

    shape: the case without its sizes. sizes: those with their doubts [SI]. moved: the readings whose doubts
    were carried. looks, judged: by code of the rule. outputs: by name.
    """

    shape: Shape
    sizes: Mapping[str, Estimate]
    moved: tuple[str, ...]
    looks: Mapping[str, Look]
    judged: Mapping[str, Judged]
    outputs: Mapping[str, Output]

    def changed(self, shape: Shape, sizes: Mapping[str, Estimate]) -> frozenset[str] | None:
        """The sizes that differ from these; None where more than the sizes of the case does."""
        if sizes.keys() != self.sizes.keys() or shape != self.shape:
            return None
        return frozenset(name for name, size in sizes.items() if size != self.sizes[name])


def judge_again(
    case: Case, rules: Sequence[Rule], facts: Facts, before: Judging | None
) -> tuple[tuple[Judged, ...], Response, Judging]:
    """Every rule judged together on the same draws; rules with nothing to say are left out.

    facts: at the best estimates. before: of the same run as it was, if there is one: what still stands of it
    is taken from there. Returns the judged rules, the response they were read from, which tells the run's
    loss too, and the judging itself.
    """
    shape, sizes = _shape(case), case.variables()
    changed = None if before is None else before.changed(shape, sizes)
    stands: Mapping[str, Judged] = {}
    looks: Mapping[str, Look] = {}
    known: Mapping[str, Output] = {}
    if before is not None and changed is not None:
        stands = {code: one for code, one in before.judged.items() if one.rests_on.isdisjoint(changed)}
        looks = {code: before.looks[code] for code in stands}
    looked = in_question(rules, facts, sizes, with_loss=True, known=looks)
    moved = tuple(looked.doubtful)
    if before is not None and changed is not None and moved == before.moved:
        known = _known(before, looked, stands, changed)
    elif stands:
        # All is judged otherwise, and told from these facts, so that what that rests on is noted.
        stands, looked = {}, in_question(rules, facts, sizes, with_loss=True)
    asked = [out for out in looked.names if out not in known]
    found = looked.response(asked)
    response = found.beside(looked.names, known)
    judged = looked.judged(response, stands)
    by_code = {one.rule.code: one for one in judged}
    outputs = {out: response.output(out) for out in looked.names}
    return judged, response, Judging(shape, sizes, moved, looked.looks, by_code, outputs)


def _known(
    before: Judging, looked: InQuestion, stands: Mapping[str, Judged], changed: frozenset[str]
) -> Mapping[str, Output]:
    """The outputs of rules that stand, and the run's loss where nothing of its march changed."""
    known = {out: before.outputs[out] for out, (code, _) in looked.outputs.items() if code in stands}
    if LOSS in looked.names and LOSS in before.outputs and flow_reads(looked.facts).isdisjoint(changed):
        known[LOSS] = before.outputs[LOSS]
    return known


def _shape(case: Case) -> Shape:
    plan = case.plan
    ports = (plan.start, plan.end, *plan.side_ports)
    return (
        _OF_CASE(case),
        _OF_PLAN(plan),
        [None if port is None else _OF_PORT(port) for port in ports],
        [_OF_PIECE(piece) for piece in plan.pieces],
        [_OF_JOINT(joint) for joint in plan.joints],
        [_OF_NEIGHBOUR(near) for near in plan.neighbours],
    )
