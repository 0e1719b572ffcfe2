"""`python -m tests.bench.calibration`: the chances that checks show beside plain Monte Carlo of their rules.

Over the designs of the demo and random builds. The sampling shares nothing with the doubt engine but the
rules: every reading is drawn, normal and independent, and a rule passes where all its margins do.
"""

import argparse
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from math import inf, sqrt
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session, select

from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.judge import Judged, judge
from server.core.checks.missing import NotMeasured
from server.core.checks.register import rule, rules_for
from server.core.checks.rule import Found, Rule, Verdict
from server.core.measure import doubt
from server.db import make_engine
from server.features.builds import service as builds
from server.features.builds.tables import Build
from server.features.designs import service as designs
from server.features.designs import store
from server.settings import settings_for
from tests.bench.random_runs import RUNS_OF_A_BUILD, random_build
from tests.factories import load_demo

CLOCK = datetime(2026, 11, 25, 10, 0, tzinfo=timezone(timedelta(hours=1)))
LEAST, MOST = 0.02, 0.98
"""Between these chances a check is in question."""
WITHIN = 0.02
"""How far a chance may be off, beside two standard errors of the sampling."""
_MOST_PARTS = 400
_COMPARED_ONE_BY_ONE = 60

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Compared:
    """One check: its chance as shown, by the first order alone, and as sampled. marked: it was not left to
    the first order.
    """

    code: str
    shown: float
    first_order: float
    sampled: float
    draws: int
    marked: bool

    @property
    def allowed(self) -> float:
        """[-], two standard errors of the sampling included."""
        return WITHIN + 2.0 * sqrt(self.sampled * (1.0 - self.sampled) / self.draws)

    @property
    def off(self) -> float:
        return abs(self.shown - self.sampled)

    @property
    def agrees(self) -> bool:
        return self.off <= self.allowed

    @property
    def falsely_marked(self) -> bool:
        """Sampled by the program although the first order would have done."""
        return self.marked and abs(self.first_order - self.sampled) <= self.allowed


def sampled_chances(
    case: Case, rules: Sequence[Rule], draws: int, slow_draws: int, seed: int
) -> dict[str, tuple[float, int]]:
    """By rule code, the part of the draws in which every figure of the rule passes, and how many there were.

    A rule that can only be asked draw by draw, as it marches or iterates, gets `slow_draws` of them;
    with none it is left out.
    """
    best = Facts.at_best(case)
    inputs = case.variables()
    rng = np.random.default_rng(seed)
    drawn = {name: rng.normal(size.value, size.doubt, draws) for name, size in inputs.items() if size.doubt}
    exact = {name: size.value for name, size in inputs.items()}
    found = {}
    for one in rules:
        passed = all_at_once(one, case, best, exact, drawn)
        if passed is None and slow_draws:
            few = {name: values[:slow_draws] for name, values in drawn.items()}
            passed = one_by_one(one, case, best, exact, few)
        if passed is not None:
            found[one.code] = float(passed.mean()), len(passed)
    return found


def _figures_of(one: Rule, best: Facts) -> list[str]:
    return [found.item for found in one.find(best) if isinstance(found, Found) and not found.yes_or_no]


def one_by_one(
    one: Rule, case: Case, best: Facts, exact: Mapping[str, float], drawn: Mapping[str, Floats]
) -> Marks:
    """Whether the rule passes, of each draw asked for itself."""
    wanted = _figures_of(one, best)
    rows = np.stack(list(drawn.values()), axis=1).tolist()
    cars = ({**exact, **dict(zip(drawn, row, strict=True))} for row in rows)
    return np.array([_passes(one, Facts(case, values, best), wanted) for values in cars], dtype=np.bool_)


def _passes(one: Rule, facts: Facts, items: Iterable[str]) -> bool:
    try:
        margins = {found.item: found.margin for found in one.find(facts) if isinstance(found, Found)}
    except (NotMeasured, ValueError):
        return False
    return all(margins.get(item, -1.0) >= 0.0 for item in items)


class _Parted(Exception):
    """The draws part ways at a condition of the rule: which of them meet it."""

    def __init__(self, meets: Marks) -> None:
        super().__init__("the draws part here")
        self.meets = meets


class _Draws(np.ndarray):
    """One reading in every draw; a rule takes it for a number as long as all draws go the same way."""

    def __bool__(self) -> bool:
        meets = np.asarray(self, dtype=np.bool_)
        if meets.all() or not meets.any():
            return bool(meets.flat[0])
        raise _Parted(meets)


def all_at_once(
    one: Rule, case: Case, best: Facts, exact: Mapping[str, float], drawn: Mapping[str, Floats]
) -> Marks | None:
    """The same as `one_by_one`, the rule asked about whole arrays, parted where its conditions part them.

    None where it can't be, or where it says otherwise than draw by draw.
    """
    wanted = _figures_of(one, best)
    count = len(next(iter(drawn.values())))
    passed = np.zeros(count, dtype=np.bool_)
    waiting = [np.arange(count)]
    asked = 0
    while waiting:
        rows = waiting.pop()
        asked += 1
        values: dict[str, Any] = {**exact, **{name: some[rows].view(_Draws) for name, some in drawn.items()}}
        try:
            found = one.find(Facts(case, values, best))
            margins = {each.item: each.margin for each in found if isinstance(each, Found)}
            passed[rows] = np.logical_and.reduce(
                [np.broadcast_to(np.asarray(margins.get(item, -1.0)) >= 0.0, rows.shape) for item in wanted]
            )
        except _Parted as parted:
            waiting += [rows[parted.meets], rows[~parted.meets]]
        except (NotMeasured, ValueError):
            passed[rows] = False
        except TypeError:
            return None
        if asked > _MOST_PARTS:
            return None
    first = {name: values[:_COMPARED_ONE_BY_ONE] for name, values in drawn.items()}
    alike = np.array_equal(passed[:_COMPARED_ONE_BY_ONE], one_by_one(one, case, best, exact, first))
    return passed if alike else None


def measured(case: Case) -> dict[str, tuple[Judged, bool]]:
    """By rule code, each check that rests on figures, and whether any was not left to the first order."""
    judged, response = judge(case, rules_for(case.plan.place), Facts.at_best(case))
    return {
        one.rule.code: (one, "Monte Carlo" in methods)
        for one in judged
        if one.verdict is not Verdict.NOT_MEASURED
        and (methods := [response.method(i.output) for i in one.items if not i.found.yes_or_no])
        and all(item.margin >= 0.0 for item in one.items if item.found.yes_or_no)
    }


def compare(case: Case, draws: int, slow_draws: int) -> list[Compared]:
    """Each check of a run beside its sampling, where that leaves it in question."""
    shown = measured(case)
    few = sampled_chances(case, [rule(code) for code in shown], draws // 10, slow_draws // 25, seed=1)
    codes = [code for code, (chance, _) in few.items() if 0.5 * LEAST <= chance <= 1.0 - 0.5 * LEAST]
    sampled = sampled_chances(case, [rule(code) for code in codes], draws, slow_draws, seed=2)
    first_order = shown
    if any(shown[code][1] for code in codes):
        with patch.object(doubt, "MOST_LEFT_OUT", inf):
            first_order = measured(case)
    return [
        Compared(
            code, shown[code][0].probability, first_order[code][0].probability, chance, count, shown[code][1]
        )
        for code, (chance, count) in sampled.items()
        if LEAST <= chance <= MOST
    ]


def demo_cases() -> Iterator[Case]:
    """Every design of the demo that has pieces, as the checks see it."""
    with tempfile.TemporaryDirectory() as folder:
        settings = settings_for(data=Path(folder, "demo"), environment={})
        load_demo(settings, lambda: CLOCK)
        engine = make_engine(settings.database_url)
        with Session(engine) as session:
            for build in [builds.build_face(session, row.key) for row in session.exec(select(Build))]:
                around = designs.surroundings(session, build)
                rows = store.rows_of(session, store.designs_of(session, build.id))
                yield from [designs.case_of(one, around) for one in rows.values() if one.run.pieces]
        engine.dispose()


def random_cases(count: int, seed: int = 20) -> list[Case]:
    """The runs of so many random builds."""
    rng = np.random.default_rng(seed)
    return [case for _ in range(count) for case in random_build(rng)]


def show(found: Sequence[Compared]) -> None:
    """A table by rule, then what is wrong."""
    by_rule: Mapping[str, list[Compared]] = defaultdict(list)
    for one in found:
        by_rule[one.code].append(one)
    titles = ("rule", "checks", "agree", "marked", "false marks", "missed", "mean off", "worst off")
    print("  ".join([titles[0].ljust(18), *(title.rjust(11) for title in titles[1:])]))
    for code, ones in [*sorted(by_rule.items()), ("all", list(found))]:
        missed = sum(not one.agrees and not one.marked for one in ones)
        cells = (
            str(len(ones)),
            f"{100 * np.mean([one.agrees for one in ones]):.1f} %",
            str(sum(one.marked for one in ones)),
            str(sum(one.falsely_marked for one in ones)),
            str(missed),
            f"{100 * np.mean([one.off for one in ones]):.2f} pt",
            f"{100 * max(one.off for one in ones):.2f} pt",
        )
        print("  ".join([code.ljust(18), *(cell.rjust(11) for cell in cells)]))
    for one in sorted((one for one in found if not one.agrees), key=lambda one: -one.off):
        how = "marked" if one.marked else "NOT marked"
        print(
            f"{one.code}: shown {one.shown:.3f}, first order {one.first_order:.3f}, "
            f"sampled {one.sampled:.3f}, {how}"
        )


def _compare(job: tuple[Case, int, int]) -> list[Compared]:
    return compare(*job)


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.bench.calibration", description=__doc__)
    asked.add_argument("--builds", type=int, default=50)
    asked.add_argument("--draws", type=int, default=20_000)
    asked.add_argument("--slow-draws", type=int, default=4_000, help="of rules that march or iterate")
    asked.add_argument("--slow-builds", type=int, default=8, help="random builds whose slow rules are asked")
    asked.add_argument("--workers", type=int, default=2)
    typed = asked.parse_args()
    demo = list(demo_cases())
    cases = [*demo, *random_cases(typed.builds)]
    print(f"{len(demo)} designs of the demo and {typed.builds} random builds: {len(cases)} runs.", flush=True)
    found: list[Compared] = []
    with ProcessPoolExecutor(typed.workers) as pool:
        slow = len(demo) + RUNS_OF_A_BUILD * typed.slow_builds
        jobs = [(case, typed.draws, typed.slow_draws * (at < slow)) for at, case in enumerate(cases)]
        for count, ones in enumerate(pool.map(_compare, jobs), 1):
            found += ones
            print(f"{count} runs, {len(found)} checks compared", file=sys.stderr, flush=True)
    show(found)


if __name__ == "__main__":
    main()
