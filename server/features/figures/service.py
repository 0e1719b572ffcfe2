"""What is known of what is fitted, as the checks read it, and how it is typed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlmodel import Session

from server.core.checks.figures import FIGURES, Figure, Figures
from server.core.measure.estimate import Estimate
from server.core.tube.run import Place
from server.errors import NotFound, Stale
from server.features.builds.service import build_face, clashes, kept, subsystem_face
from server.features.builds.store import BuildFace
from server.features.figures import forms, store
from server.features.figures.page import Conceded
from server.features.figures.tables import FigureSheet


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of what is fitted in a build: figures by the number of their subsystem, concessions."""

    figures: Mapping[int, Figures] = field(default_factory=dict)
    conceded: tuple[Conceded, ...] = ()


def known_figures(session: Session, build: BuildFace) -> Known:
    """The figures of each subsystem of a build that has any, and what was conceded on them.

    Read once for each state of the build.
    """
    return kept(build, ("figures",), lambda: _known(session, build.id))


def _known(session: Session, build_id: int) -> Known:
    rows = store.sheets(session, build_id)
    figures = {sheet.subsystem_id: figures_of(sheet) for sheet, _ in rows if sheet is not None}
    conceded = (one for _, one in rows if one is not None)
    return Known(
        figures,
        tuple(Conceded(one.subsystem_id, one.rule, one.reason, one.by, one.at) for one in conceded),
    )


def figures_of(row: FigureSheet) -> Figures:
    """A row as the checks read it."""
    return Figures(
        {key: Estimate(value, doubt) for key, (value, doubt) in row.numbers.items()},
        dict(row.said),
        {key: tuple(tuple(cells) for cells in rows) for key, rows in row.tables.items()},
    )


def asked_of(kind: str) -> tuple[Figure, ...]:
    """The figures that a kind of subsystem has. Raises NotFound where it has none."""
    if Place(kind) not in FIGURES:
        raise NotFound("This subsystem has no figures to type.")
    return FIGURES[Place(kind)]


def save_figures(
    session: Session, build_id: int, subsystem_id: int, typed: Mapping[str, str], now: datetime, by: str
) -> None:
    """Type or change the figures of a subsystem. Raises NotFound, BadInput, MissingVersion, Stale."""
    build = build_face(session, build_id)
    asked = asked_of(subsystem_face(session, build_id, subsystem_id).kind)
    edit = forms.figure_edit(typed, asked, build.system)
    row = store.sheet(session, subsystem_id)
    if row is None:
        store.add(session, subsystem_id, edit.form, by, now)
    elif not store.edit(session, row, edit.version, edit.form, by, now):
        labels = {one.key: one.words for one in asked}
        wanted = {key: edit.form.typed.get(key, "") for key in labels}
        stands = {key: row.typed.get(key, "") for key in labels}
        raise Stale(clashes(labels, wanted, stands), typed)
