"""The path as it stands: which run stands for each stretch, and what the air meets on the way."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.air.path import Cooler, cold_path, hot_path
from server.core.checks.air_path import PLACES, NotKnown, cold_doubts, cold_run, hot_run, rated_drop
from server.core.checks.case import HOT_PLACES
from server.core.checks.limits import LIMITS
from server.core.phrase import Phrase
from server.core.tube.run import Place
from server.features.airpath import page
from server.features.airpath.page import Stretch
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.designs.service import Surroundings
from server.features.designs.store import DesignRows


def air_path_page(session: Session, build_id: int, now: datetime) -> page.AirPathPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    drawn = builds.kept(build, ("air path",), lambda: _drawn_or_why_not(session, build))
    return page.air_path_page(build, now.date(), drawn)


def _drawn_or_why_not(session: Session, build: BuildFace) -> page.Drawn | str | None:
    """Absurd figures can ask for more pressure than there is: then which place does, in words."""
    try:
        return _drawn(session, build)
    except ValueError as fault:
        return str(fault)


def _drawn(session: Session, build: BuildFace) -> page.Drawn | None:
    """None while the engine sheet is empty or gives no peak. Raises ValueError as `cold_path`."""
    around = designs.surroundings(session, build)
    air, gas = designs.engine_at(around, Place.INTAKE), designs.engine_at(around, Place.DOWNPIPE)
    if air is None or gas is None:
        return None
    shown = _shown(session, around)
    stretches = {place: _stretch(place, shown.get(place), around) for place in PLACES}
    exhaust = stretches[Place.EXHAUST].hot
    if exhaust is not None:
        # The downpipe's own check takes a figure for what is behind it; here the run itself is known.
        behind = exhaust.pieces[0].pressure_in
        stretches[Place.DOWNPIPE] = _stretch(Place.DOWNPIPE, shown.get(Place.DOWNPIPE), around, behind)
    sheet, at = air.sheet, air.at_peak
    cooled = sheet.intercooler_effectiveness > 0.0 or sheet.intercooler_loss > 0.0
    return page.Drawn(
        at=at,
        sheet=sheet,
        cold=cold_path(
            at,
            {PLACES[place]: stretch.cold for place, stretch in stretches.items()},
            _cooler(around, sheet.intercooler_loss) if cooled else None,
            cold_doubts(air),
        ),
        hot=hot_path(
            at.ambient_pressure,
            gas.exhaust_temperature,
            stretches[Place.DOWNPIPE].hot,
            exhaust,
            _limit(around, "back.behind_downpipe" if exhaust is None else "back.behind_exhaust"),
        ),
        usual_heat=gas.usual_temperature,
        stretches=tuple(one for place, one in stretches.items() if cooled or place is not Place.COOLER_PIPE),
    )


def _cooler(around: Surroundings, drop: float) -> Cooler:
    """The cooler as the engine sheet has it [Pa], or as its own figures do."""
    typed = (
        around.figures.get(one.id) for one in around.subsystems.values() if one.kind == Place.COOLER_PIPE
    )
    return Cooler(drop, next((rated for one in typed if one and (rated := rated_drop(one))), None))


def _limit(around: Surroundings, key: str) -> float:
    """A limit as it stands for this build [SI]."""
    changed = {one.limit.key: one.value for one in around.limits}
    return changed.get(key, LIMITS[key].default)


def _shown(session: Session, around: Surroundings) -> Mapping[Place, DesignRows]:
    """The design that stands for each place: the chosen one of its first subsystem, else the first one."""
    first: dict[Place, int] = {}
    for subsystem in around.subsystems.values():
        first.setdefault(Place(subsystem.kind), subsystem.id)
    every = [one for one in design_store.designs_of(session, around.build_id) if not one.pattern]
    found = {}
    for place in PLACES:
        own = [one for one in every if one.subsystem_id == first.get(place)]
        if own:
            found[place] = next((one for one in own if one.chosen), own[0])
    rows = design_store.rows_of(session, list(found.values()))
    return {place: rows[design.key] for place, design in found.items()}


def _stretch(
    place: Place, rows: DesignRows | None, around: Surroundings, behind: float | None = None
) -> Stretch:
    """behind: static, absolute, just behind a run of exhaust [Pa]; None for what its own check takes."""
    subsystem = next((one for one in around.subsystems.values() if one.kind == place), None)
    if rows is None:
        return Stretch(PLACES[place], subsystem, None, {}, why=Phrase(page.NO_DESIGN))
    checked = designs.checked(rows, around)
    case, answers = checked.case, checked.answers
    names = {piece.number: piece.name for piece in case.plan.pieces}
    hot = hot_run(case, answers, behind) if place in HOT_PLACES else None
    cold = cold_run(case, answers) if place not in HOT_PLACES else None
    why = next((one.phrase for one in (hot, cold) if isinstance(one, NotKnown)), None)
    return Stretch(
        PLACES[place],
        subsystem,
        rows.design,
        names,
        cold=None if isinstance(cold, NotKnown) else cold,
        hot=None if isinstance(hot, NotKnown) else hot,
        why=why,
    )
