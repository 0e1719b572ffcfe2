"""`python -m tests.bench.calibration`: the chances that checks show beside plain Monte Carlo of their rules.

Over the designs of the demo and random builds. The sampling shares nothing with the doubt engine but the
rules, asked about many draws at once: every reading is drawn, normal and independent, and a rule passes where
all its margins do.
"""

import argparse
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from math import sqrt
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session, select

from server.core.checks.again import judge_again
from server.core.checks.answer import MOST_OFF
from server.core.checks.at_once import facts_in_draws, look_at, margins_in_draws
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.judge import Judged
from server.core.checks.missing import NotMeasured
from server.core.checks.register import rule, rules_for
from server.core.checks.rule import Findings, Found, Rule, Verdict
from server.db import make_engine
from server.features.builds import service as builds
from server.features.builds.tables import Build
from server.features.designs import service as designs
from server.features.designs import store
from server.settings import settings_for
from tests.bench.random_runs import random_build
from tests.factories import load_demo

CLOCK = datetime(2026, 11, 25, 10, 0, tzinfo=timezone(timedelta(hours=1)))
LEAST, MOST = 0.02, 0.98
"""Between these chances a check is in question."""
WITHIN = 0.02
"""How far a chance may be off, beside two standard errors of the sampling."""
PROVEN_ON = 30
"""So many draws of each rule and run are asked for one by one too."""

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Compared:
    """One check: its chance as shown and as sampled. marked: every page that prints it calls it rough.

    methods: how the margins in it were found.
    """

    code: str
    shown: float
    sampled: float
    draws: int
    marked: bool
    methods: frozenset[str]

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
        """Called rough, yet near enough."""
        return self.marked and self.agrees


def sampled_chances(case: Case, rules: Sequence[Rule], draws: int, seed: int) -> dict[str, float]:
    """By rule code, the part of the draws in which every figure of the rule passes."""
    best = Facts.at_best(case)
    rng = np.random.default_rng(seed)
    drawn = {
        name: rng.normal(size.value, size.doubt, draws)
        for name, size in case.variables().items()
        if size.doubt > 0.0
    }
    return {one.code: float(passed.mean()) for one, passed in in_draws(rules, best, drawn)}


def in_draws(rules: Sequence[Rule], best: Facts, drawn: Mapping[str, Floats]) -> Iterator[tuple[Rule, Marks]]:
    """Whether each rule passes in each draw: asked about all of them at once, the run marched once for all.

    That this is the same as asking draw by draw is proven for every rule of every run on some of the draws.
    Raises AssertionError where it is not.
    """
    count = len(next(iter(drawn.values())))
    facts = facts_in_draws(best, drawn)
    few = {name: values[:PROVEN_ON] for name, values in drawn.items()}
    for one in rules:
        looked = look_at(one, best)
        with np.errstate(all="ignore"):
            margins = margins_in_draws(looked, _figures_of(looked.findings), facts, count)
        passed = np.asarray((margins >= 0.0).all(axis=0))
        assert np.array_equal(passed[:PROVEN_ON], one_by_one(one, best, few)), one.code
        yield one, passed


def _figures_of(findings: Findings) -> list[str]:
    return [found.item for found in findings if isinstance(found, Found) and not found.yes_or_no]


def one_by_one(one: Rule, best: Facts, drawn: Mapping[str, Floats]) -> Marks:
    """Whether the rule passes, of each draw asked for itself."""
    wanted = _figures_of(one.find(best))
    rows = np.stack(list(drawn.values()), axis=1).tolist()
    cars = ({**best.values, **dict(zip(drawn, row, strict=True))} for row in rows)
    passes = [_passes(one, Facts(best.case, values, best), wanted) for values in cars]
    return np.array(passes, dtype=np.bool_)


def _passes(one: Rule, facts: Facts, items: Iterable[str]) -> bool:
    try:
        margins = {found.item: found.margin for found in one.find(facts) if isinstance(found, Found)}
    except (NotMeasured, ValueError):
        return False
    return all(margins.get(item, -1.0) >= 0.0 for item in items)


def measured(case: Case) -> dict[str, tuple[Judged, frozenset[str]]]:
    """By rule code, each check that rests on figures, and how they were found."""
    judged, response, _ = judge_again(case, rules_for(case.plan.place), Facts.at_best(case), None)
    return {
        one.rule.code: (one, frozenset(methods))
        for one in judged
        if one.verdict is not Verdict.NOT_MEASURED
        and (methods := [response.method(i.output) for i in one.items if not i.found.yes_or_no])
        and all(item.margin >= 0.0 for item in one.items if item.found.yes_or_no)
    }


def compare(case: Case, draws: int) -> list[Compared]:
    """Each check of a run beside its sampling, where that leaves it in question."""
    shown = measured(case)
    few = sampled_chances(case, [rule(code) for code in shown], draws // 10, seed=1)
    codes = [code for code, chance in few.items() if 0.5 * LEAST <= chance <= 1.0 - 0.5 * LEAST]
    sampled = sampled_chances(case, [rule(code) for code in codes], draws, seed=2) if codes else {}
    found = {code: shown[code] for code, chance in sampled.items() if LEAST <= chance <= MOST}
    return [
        Compared(code, one.probability, sampled[code], draws, one.off > MOST_OFF, methods)
        for code, (one, methods) in found.items()
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
    titles = ("rule", "checks", "agree", "drawn", "marked", "false marks", "missed", "mean off", "worst off")
    print("  ".join([titles[0].ljust(18), *(title.rjust(11) for title in titles[1:])]))
    for code, ones in [*sorted(by_rule.items()), ("all", list(found))]:
        missed = sum(not one.agrees and not one.marked for one in ones)
        cells = (
            str(len(ones)),
            f"{100 * np.mean([one.agrees for one in ones]):.1f} %",
            str(sum("Monte Carlo" in one.methods for one in ones)),
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
            f"{one.code}: shown {one.shown:.3f}, sampled {one.sampled:.3f}, {how}, "
            f"{', '.join(sorted(one.methods))}"
        )


def _compare(job: tuple[Case, int]) -> list[Compared]:
    return compare(*job)


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.bench.calibration", description=__doc__)
    asked.add_argument("--builds", type=int, default=50)
    asked.add_argument("--draws", type=int, default=20_000)
    asked.add_argument("--workers", type=int, default=2)
    typed = asked.parse_args()
    demo = list(demo_cases())
    cases = [*demo, *random_cases(typed.builds)]
    print(f"{len(demo)} designs of the demo and {typed.builds} random builds: {len(cases)} runs.", flush=True)
    found: list[Compared] = []
    with ProcessPoolExecutor(typed.workers) as pool:
        for count, ones in enumerate(pool.map(_compare, [(case, typed.draws) for case in cases]), 1):
            found += ones
            print(f"{count} runs, {len(found)} checks compared", file=sys.stderr, flush=True)
    show(found)


if __name__ == "__main__":
    main()
