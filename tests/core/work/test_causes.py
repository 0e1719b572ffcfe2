"""Holds that are worked out, and the cautions that a task shows."""

from datetime import date

import pytest

from server.core.checks.register import RULES
from server.core.checks.rule import RuleClass
from server.core.lines.register import RULES as LINE_RULES
from server.core.lines.rules.rule import Danger
from server.core.work.causes import WantedPart, by_hand, check_hold, part_hold
from server.core.work.cautions import CAUTIONS, LICENSED, cautions_of
from server.core.work.holds import HoldKind

DUE = date(2026, 11, 23)


def test_a_part_that_is_here_holds_nothing() -> None:
    assert part_hold(WantedPart(7, "76 mm elbow", missing=0)) is None


def test_a_part_in_the_post_holds_with_its_day_and_how_late_it_is() -> None:
    hold = part_hold(WantedPart(7, "76 mm elbow", missing=1, due=DUE, late_days=2))
    assert hold is not None
    assert (hold.words, hold.due, hold.late_days, hold.subject_id) == ("76 mm elbow, in the post", DUE, 2, 7)


@pytest.mark.parametrize(
    ("origin", "words"),
    [
        ("buy", "2 × bracket, not ordered"),
        ("make", "2 × bracket, to be made"),
        ("salvage", "2 × bracket, to be salvaged"),
        ("borrowed", "2 × bracket, to be borrowed"),
    ],
)
def test_a_part_that_is_under_way_nowhere_says_what_is_to_be_done_about_it(origin: str, words: str) -> None:
    hold = part_hold(WantedPart(7, "bracket", missing=2, short=1, origin=origin))
    assert hold is not None
    assert hold.words == words


@pytest.mark.parametrize(
    ("tried", "words"),
    [("not tried", "outlet, to be tried on"), ("does not", "outlet, tried on, does not fit"), ("fits", None)],
)
def test_a_borrowed_fitting_holds_until_it_was_tried_on_and_fits(tried: str, words: str | None) -> None:
    hold = part_hold(WantedPart(7, "outlet", missing=0, origin="borrowed", tried=tried))
    assert (hold.words if hold else None) == words


def test_checks_hold_while_there_is_no_design_a_no_go_or_something_not_measured() -> None:
    def state(*, has_design: bool, no_go: bool, missing: tuple[str, ...]) -> str | None:
        hold = check_hold(3, "Intake", has_design=has_design, no_go=no_go, missing=missing)
        return hold.state if hold else None

    assert state(has_design=False, no_go=False, missing=()) == "no design yet"
    assert state(has_design=True, no_go=True, missing=("bore",)) == "no-go"
    assert (
        state(has_design=True, no_go=False, missing=("Measure the bore.",))
        == "not measured yet: measure the bore"
    )
    assert state(has_design=True, no_go=False, missing=()) is None


def test_a_hold_by_hand_is_late_after_its_day_but_stays() -> None:
    assert by_hand(HoldKind.HELPER, "the welder", DUE, date(2026, 11, 20), 1).late_days == 0
    assert by_hand(HoldKind.HELPER, "the welder", DUE, date(2026, 11, 25), 1).late_days == 2
    assert by_hand(HoldKind.TOOL, "the press", None, date(2026, 11, 25), 1).late_days == 0


def test_place_and_hot_work_bring_their_cautions_by_themselves() -> None:
    assert cautions_of("bench", False, "") == ()
    under, hot, fume = cautions_of("under the car", True, "hot work")
    assert "stands" in under.text
    assert all(
        words in hot.text for words in ("at least as long as the local rule", "Extinguisher", "air bags")
    )
    assert all(words in hot.text for words in ("other side of the floor", "No open fuel"))
    assert all(words in fume.text for words in ("chlorinated", "galvanised", "stainless", "Purge gas"))


def test_work_for_a_licensed_person_says_so_before_all_else() -> None:
    for what in LICENSED:
        first, *_ = cautions_of("under the car", False, "fuel", what)
        assert first.signal == "WARNING"
        assert "licensed person by the law" in first.text


def test_everything_that_is_known_to_hurt_has_a_caution_to_choose() -> None:
    """The list of this project; common practice, no source."""
    told = " ".join(caution.text for caution in CAUTIONS).casefold()
    hazards = "rigid stands, chlorinated, galvanised, stainless, air bags, plugs strapped, turning shaft"
    for words in f"{hazards}, hot cap, refrigerant, fuel lines, other side of the floor, fire watch".split(
        ", "
    ):
        assert words in told, words


def test_every_rule_that_can_hurt_carries_its_caution() -> None:
    assert [rule.code for rule in RULES if rule.rule_class is RuleClass.INJURY and rule.caution is None] == []
    found = [rule.code for rule in LINE_RULES if rule.danger is Danger.INJURY and rule.caution is None]
    assert found == []


def test_every_caution_has_a_code_of_its_own_and_a_signal_word() -> None:
    assert len({caution.code for caution in CAUTIONS}) == len(CAUTIONS)
    assert {caution.signal for caution in CAUTIONS} <= {"DANGER", "WARNING", "CAUTION"}
