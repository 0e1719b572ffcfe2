"""The handbook: the register of rules read out, each rule on a page of its own, and where a build uses it."""

from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.air.spread import spreads
from server.core.checks.book.contents import ALL, BOOK
from server.core.checks.handbook import Entry, entry, handbook
from server.errors import NotFound
from server.features.builds import service as builds
from server.features.builds import store as build_store
from server.features.builds.store import BuildFace
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.handbook import page
from server.features.handbook.page import Use
from server.web.whose import Whose

MOST_BUILDS = 6
"""So many builds, the newest, are led to from a rule; a club's server may hold hundreds."""


def handbook_page(now: datetime) -> page.HandbookPage:
    return page.handbook_page(handbook(), now.date())


def words_page(now: datetime) -> page.WordsPage:
    return page.words_page(now.date())


def losses_page(now: datetime) -> page.LossesPage:
    marched = [entry(one.code) for one in ALL if one.marched]
    return page.losses_page(spreads(), marched, now.date())


def rule_page(session: Session, code: str, now: datetime, whose: Whose | None) -> page.RulePage:
    """whose: the builds that the rule can be looked up in. Raises NotFound."""
    rule = _rule(code)
    faces = build_store.all_builds(session, whose)[:MOST_BUILDS]
    return page.rule_page(rule, BOOK.get(code), now.date(), faces)


def rule_in_build_page(session: Session, build_id: int, code: str, now: datetime) -> page.RulePage:
    """Raises NotFound."""
    rule = _rule(code)
    build = builds.build_face(session, build_id)
    around = designs.surroundings(session, build)
    uses = builds.kept(build, ("uses of rules",), lambda: _uses(session, build))
    return page.rule_in_build_page(
        build,
        rule,
        BOOK.get(code),
        now.date(),
        around.limits,
        uses.get(code, ()),
    )


def _rule(code: str) -> Entry:
    try:
        return entry(code)
    except KeyError as unknown:
        raise NotFound("The handbook has no such rule.") from unknown


def _uses(session: Session, build: BuildFace) -> Mapping[str, tuple[Use, ...]]:
    """Every check of every design and figure sheet of a build by its rule, in a fixed number of queries."""
    around = designs.surroundings(session, build)
    there = around.subsystems
    own = [
        design
        for design in design_store.designs_of(session, build.id)
        if design.subsystem_id in there and not design.pattern
    ]
    designed = {design.subsystem_id for design in own}
    uses = [
        Use(there[rows.design.subsystem_id], rows.design, check)
        for rows in design_store.rows_of(session, own).values()
        if (answers := designs.answers_of(rows, around)) is not None
        for check in answers.checks
    ]
    uses += [
        Use(subsystem, None, check)
        for subsystem in there.values()
        if subsystem.id in around.figures and subsystem.id not in designed
        for check in designs.figure_answers(subsystem, around).checks
    ]
    found: dict[str, list[Use]] = defaultdict(list)
    for use in uses:
        found[use.check.rule.code].append(use)
    return {code: tuple(some) for code, some in found.items()}
