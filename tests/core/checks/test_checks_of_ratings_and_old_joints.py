"""A hose by its maker's table, a joint beside the one before it, a drain that takes what its feed passes."""

from dataclasses import replace

import pytest

from server.core.checks.answer import Check
from server.core.checks.case import Case
from server.core.checks.charge import end_force
from server.core.checks.figures import Figures
from server.core.checks.oil_feed import passed_by
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import PieceKind, PiecePlan
from server.core.units import System
from tests.core.checks.fitted import check_of, item_of
from tests.core.checks.runs import BAR, MM, charge_case, check, sizes, with_joint, with_piece
from tests.core.checks.test_checks_of_coolant_lines import hose
from tests.core.checks.test_checks_of_the_oil_drain import drain

ROOM, WARM, HOT = 293.15, 393.15, 473.15


def told(found: Check) -> str:
    return say(found.phrase, System.metric)


def tabled(*rows: tuple[float, float]) -> Case:
    """The charge pipe with a maker's table on its first coupler, and neither figure nor rubber said."""
    return with_piece(charge_case(), 1, ratings=rows, rated_pressure=None, material="rubber")


@pytest.mark.parametrize(("cold", "verdict"), [(4.0 * BAR, Verdict.GO), (1.5 * BAR, Verdict.NO_GO)])
def test_a_maker_s_table_is_read_between_its_rows(cold: float, verdict: Verdict) -> None:
    """The highest boost is 1.3 bar, the charge well over room temperature."""
    assert check(tabled((ROOM, cold), (HOT, 0.5 * BAR)), "hose-pressure").verdict is verdict


def test_what_it_stands_lies_on_the_line_between_two_rows() -> None:
    found = check(tabled((ROOM, 4.0 * BAR), (HOT, 2.0 * BAR)), "hose-pressure").items
    item = next(one for one in found if one.item == "piece.1")
    case = charge_case()
    assert case.engine is not None
    from_room = (4.0 * BAR - (item.value or 0.0)) / (2.0 * BAR) * (HOT - ROOM)
    assert ROOM + from_room == pytest.approx(case.engine.state(_best(case)).hottest)


def _best(case: Case) -> dict[str, float]:
    return {name: size.value for name, size in case.variables().items()}


def test_hotter_than_the_table_goes_is_not_measured_and_says_so() -> None:
    found = check(tabled((ROOM, 4.0 * BAR), (313.15, 3.5 * BAR)), "hose-pressure")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "its maker's table ends at 40 °C" in told(found)


def test_a_table_goes_before_the_one_figure() -> None:
    both = with_piece(charge_case(), 1, ratings=((ROOM, 0.5 * BAR), (HOT, 0.4 * BAR)))
    assert check(both, "hose-pressure").verdict is Verdict.NO_GO


def before(diameter: float, pressure: float) -> Case:
    """The charge pipe with nothing typed as held at joint 3, but the joint that stood there; [mm], [bar]."""
    joint = charge_case().plan.joints[2]
    known = {name: size for name, size in joint.sizes.items() if name != "holds"}
    old = {
        "old_diameter": Estimate(diameter * MM, 0.5 * MM),
        "old_pressure": Estimate(pressure * BAR, 0.02 * BAR),
    }
    return with_joint(charge_case(), 2, sizes=known | old, holds_origin="")


@pytest.mark.parametrize(
    ("pressure", "verdict"), [(1.8, Verdict.GO), (1.05, Verdict.TIGHT), (0.5, Verdict.NO_GO)]
)
def test_a_joint_is_held_against_the_one_before_it(pressure: float, verdict: Verdict) -> None:
    """63.5 mm then, 60 mm now: what counts is the highest boost, 1.3 bar, over what was held."""
    assert check(before(63.5, pressure), "end-force").verdict is verdict


def test_how_many_times_the_old_push_it_is_is_told_and_a_bracket_cures_it() -> None:
    found = check(before(50.8, 0.7), "end-force")
    item = next(one for one in found.items if one.item == found.items[0].item)
    assert item.value == pytest.approx(end_force(50.8 * MM, 0.7 * BAR))
    times = (item.limit or 0.0) / (item.value or 1.0)
    assert f"{times:.2f} times" in told(found)
    assert "that the joint before it held" in told(found)
    assert found.cure is not None
    assert "bracket that takes the thrust" in say(found.cure.phrase, System.metric)
    bracket = before(50.8, 0.7)
    joints = list(bracket.plan.joints)
    joints[2] = replace(joints[2], bracket=True)
    cured = replace(bracket, plan=replace(bracket.plan, joints=tuple(joints)))
    assert check(cured, "end-force").verdict is Verdict.GO


def test_what_is_typed_as_held_goes_before_the_old_joint() -> None:
    case = before(50.8, 0.7)
    joint = case.plan.joints[2]
    held = with_joint(
        case, 2, sizes={**joint.sizes, "holds": Estimate(2000.0, 20.0)}, holds_origin="own pull test"
    )
    assert check(held, "end-force").verdict is Verdict.GO


def coolant_hose(**changes: object) -> PiecePlan:
    """A drawn heater hose; nothing rated unless said."""
    plain = PiecePlan(1, 1, PieceKind.HOSE, "Hose", "EPDM", sizes(bore=16.0, wall=4.0, length=400.0))
    return replace(plain, **changes)  # type: ignore[arg-type]


def drawn(case: Case, piece: PiecePlan) -> Case:
    return replace(case, plan=replace(case.plan, pieces=(piece,), joints=case.plan.joints * 2))


NO_RATING = {"rated_pressure": None, "rated_temperature": None}


def test_a_drawn_coolant_hose_is_asked_for_its_rating_once() -> None:
    """Neither sheet nor piece: the piece is asked. Either one alone is enough."""
    neither = check_of(drawn(hose(NO_RATING), coolant_hose()), "coolant-rating")
    assert neither.verdict is Verdict.NOT_MEASURED
    assert [one.variable for one in neither.missing] == ["piece.1.rated_pressure"]
    assert told(neither) == "Type the working pressure of Hose (1)."
    on_sheet = check_of(drawn(hose(), coolant_hose()), "coolant-rating")
    own = coolant_hose(rated_pressure=3.0 * BAR, rated_temperature=398.15)
    on_piece = check_of(drawn(hose(NO_RATING), own), "coolant-rating")
    assert (on_sheet.verdict, on_piece.verdict) == (Verdict.GO, Verdict.GO)


def test_a_drawn_hose_s_own_rating_goes_before_that_of_the_sheet() -> None:
    weak = coolant_hose(rated_pressure=1.2 * BAR, rated_temperature=398.15)
    found = check_of(drawn(hose(), weak), "coolant-rating")
    assert found.verdict is Verdict.NO_GO
    assert "Hose (1) is rated" in told(found)


def test_a_coolant_hose_by_its_maker_s_table() -> None:
    strong = coolant_hose(ratings=((ROOM, 6.0 * BAR), (HOT, 2.0 * BAR)))
    found = check_of(drawn(hose(NO_RATING), strong), "coolant-rating")
    assert found.verdict is Verdict.GO
    at_120 = 6.0 * BAR - 4.0 * BAR * (WARM - ROOM) / (HOT - ROOM)
    assert item_of(found, "piece.1.pressure").value == pytest.approx(at_120)
    short = coolant_hose(ratings=((ROOM, 6.0 * BAR), (353.15, 5.0 * BAR)))
    assert check_of(drawn(hose(NO_RATING), short), "coolant-rating").verdict is Verdict.NOT_MEASURED


FEED = Figures(
    {"oil.restrictor_bore": Estimate(1.0 * MM, 0.01 * MM), "oil.pressure": Estimate(4.0 * BAR, 0.2 * BAR)},
    {"oil.restrictor": "yes"},
)


def test_a_drain_takes_what_its_feed_s_restrictor_passes() -> None:
    """C π D²/4 √(2 p / ρ) of hot oil, its doubt twice that of the bore and half that of the pressure."""
    flow = passed_by(FEED)
    assert flow is not None
    assert 0.5e-3 / 60.0 < flow.value < 2e-3 / 60.0
    assert flow.doubt / flow.value == pytest.approx((0.02**2 + 0.025**2) ** 0.5)
    case = drain({"drain.flow": None})
    assert check_of(case, "drain-bore").verdict is Verdict.NOT_MEASURED
    taken = check_of(replace(case, figures=case.figures.taking("drain.flow", flow)), "drain-bore")
    assert taken.verdict is not Verdict.NOT_MEASURED
    assert "as its feed's restrictor lets through" in told(taken)
    assert "restrictor" not in told(check_of(drain(), "drain-bore"))


@pytest.mark.parametrize("key", ["oil.restrictor_bore", "oil.pressure"])
def test_a_feed_that_does_not_tell_leaves_the_drain_s_flow_to_be_typed(key: str) -> None:
    numbers = {name: number for name, number in FEED.numbers.items() if name != key}
    assert passed_by(replace(FEED, numbers=numbers)) is None
    assert passed_by(replace(FEED, said={"oil.restrictor": "no"})) is None
