"""What can be done with stints, helpers and visits, their sheet, and what other features learn of them."""

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, tzinfo

from sqlmodel import Session

from server.core.work.hours import Hours, Span, Visit
from server.errors import Stale
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.stints import forms, page, store, tables
from server.web.fields import Fields

TOLD = re.compile(r"(stint|helper|visit)-([0-9]{1,9})")


@dataclass(frozen=True, slots=True)
class HelperFace:
    """A helper as other features see them."""

    id: int
    name: str
    skills: tuple[str, ...]
    contact: str


@dataclass(frozen=True, slots=True)
class Garage:
    """When the garage is worked in, and what raising and lowering the car takes [min].

    zone: name of the time zone; empty where the offset of the clock at hand counts.
    """

    hours: Hours
    zone: str
    raising: int
    lowering: int
    helpers: tuple[HelperFace, ...]

    @property
    def known(self) -> bool:
        return bool(self.hours.weekly or self.hours.extra or self.hours.visits)

    def tz(self, now: datetime) -> tzinfo:
        """The zone that clocks in the garage show."""
        named = forms.zone_named(self.zone) if self.zone else None
        return named or now.tzinfo or UTC


def garage_of(session: Session, build: BuildFace) -> Garage:
    """Read once for each state of the build."""
    return builds.kept(build, ("garage time",), lambda: _read(session, build.id))


def _read(session: Session, build_id: int) -> Garage:
    stands = store.garage_time(session, build_id) or tables.GarageTime(build_id=build_id)
    rows = [row for row in store.stints_of(session, build_id) if row.removed_at is None]
    there_are, visits = store.helpers_and_visits(session, build_id)
    helpers = {row.key: row for row in there_are}
    noise = None
    if stands.noise_from is not None and stands.noise_to is not None:
        noise = Span(stands.noise_from, stands.noise_to)
    hours = Hours(
        tuple((row.weekday, _span(row)) for row in rows if row.kind == "weekly" and row.weekday is not None),
        tuple((row.day, _span(row)) for row in rows if row.kind == "extra" and row.day is not None),
        frozenset(row.day for row in rows if row.kind == "off" and row.day is not None),
        tuple(visit_of(row, helpers[row.helper_id]) for row in visits),
        noise,
        stands.quiet_sundays,
    )
    faces = tuple(
        HelperFace(row.key, row.name, forms.skills_in(row.skills), row.contact) for row in helpers.values()
    )
    return Garage(hours, stands.zone, stands.raising, stands.lowering, faces)


def _span(row: tables.Stint | tables.Visit) -> Span:
    return Span(row.begins or 0, row.ends or 0)


def visit_of(row: tables.Visit, helper: tables.Helper) -> Visit:
    """A visit as the plan sees it."""
    skills = forms.skills_in(helper.skills)
    return Visit(row.key, helper.key, helper.name, skills, row.day, _span(row), row.cancel_by, row.note)


def add_stint(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    builds.build_face(session, build_id)
    form = forms.stint_form(typed)
    return store.add(session, tables.Stint(build_id=build_id, **asdict(form)))


def add_helper(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    builds.build_face(session, build_id)
    return store.add(session, tables.Helper(build_id=build_id, **asdict(forms.helper_form(typed))))


def edit_helper(session: Session, build_id: int, helper_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    stands = store.load(session, tables.Helper, build_id, helper_id)
    before = stands.model_dump()
    version = Fields(typed).version()
    values = asdict(forms.helper_form(typed))
    if not store.edit(session, tables.Helper, helper_id, version, values):
        raise Stale(builds.clashes(page.HELPER_LABELS, values, before), typed)


def add_visit(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    builds.build_face(session, build_id)
    standing = [row.key for row in store.helpers_of(session, build_id) if row.removed_at is None]
    form = forms.visit_form(typed, standing)
    return store.add(session, tables.Visit(build_id=build_id, **asdict(form)))


def set_aside(
    session: Session,
    table: type[store.RowOfStints],
    build_id: int,
    number: int,
    at: datetime | None,
) -> None:
    """Take one off the sheet, or put it back where there is no moment. Raises NotFound."""
    store.set_removed(session, store.load(session, table, build_id, number), at)


def edit_garage_time(session: Session, build_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale. Version 0: nothing was said yet."""
    builds.build_face(session, build_id)
    version = Fields(typed).version()
    values = asdict(forms.garage_time_form(typed))
    stands = store.garage_time(session, build_id)
    if stands is None:
        store.add(session, tables.GarageTime(build_id=build_id, **values))
        return
    before = page.garage_fields(stands).values
    if not store.edit(session, tables.GarageTime, stands.key, version, values):
        raise Stale(page.garage_clashes(typed, before), typed)


def stints_page(
    session: Session,
    build_id: int,
    now: datetime,
    told: str = "",
    refused: page.RefusedForm = page.NOT_REFUSED,
    asked: page.Asked = page.BEGINNING,
) -> page.StintsPage:
    """`told` names what was just done, such as "stint-5"; asked: which part of a long list.

    Raises NotFound.
    """
    build = builds.build_face(session, build_id)
    garage = garage_of(session, build)
    named = TOLD.fullmatch(told)
    return page.stints_page(
        build=build,
        now=now.astimezone(garage.tz(now)),
        hours=garage.hours,
        stints=store.stints_of(session, build_id),
        helpers=store.helpers_of(session, build_id),
        visits=store.visits_of(session, build_id),
        stands=store.garage_time(session, build_id),
        told=(named[1], int(named[2])) if named else None,
        refused=refused,
        asked=asked,
    )
