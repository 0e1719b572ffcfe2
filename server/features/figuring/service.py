"""The sheet of what is fitted: its figures, and what the checks say about them."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.checks.figures import FIGURES
from server.core.checks.figures import figure as figure_named
from server.core.checks.register import figure_rules_for
from server.core.checks.rule import may_concede
from server.core.tube.run import Place
from server.errors import NotFound, Refused
from server.features.builds import service as builds
from server.features.designing.forms import concession_form
from server.features.designs import service as designs
from server.features.designs.page import signed_by
from server.features.figures import service as figures
from server.features.figures import store
from server.features.figures.tables import FigureConcession
from server.features.figuring import page
from server.web import urls
from server.web.fields import Fields


def save_figures(
    session: Session, build_id: int, subsystem_id: int, typed: Mapping[str, str], now: datetime, by: str
) -> None:
    """Raises NotFound, BadInput, MissingVersion, Stale with both values of every figure that differs."""
    figures.save_figures(session, build_id, subsystem_id, typed, now, by)


def concede(
    session: Session, build_id: int, subsystem_id: int, typed: Mapping[str, str], now: datetime, by: str
) -> None:
    """Accept a performance check of what is fitted, with the reason, or take that back.

    Raises NotFound, BadInput; a check where somebody can be hurt is none of the list.
    """
    subsystem = builds.subsystem_face(session, build_id, subsystem_id)
    figures.asked_of(subsystem.kind)
    if Fields(typed).flag("withdraw"):
        store.withdraw_concession(session, subsystem_id, typed.get("rule", ""))
        return
    here = figure_rules_for(Place(subsystem.kind))
    form = concession_form(typed, [rule.code for rule in here if may_concede(rule)])
    store.withdraw_concession(session, subsystem_id, form.rule)
    row = FigureConcession(subsystem_id=subsystem_id, rule=form.rule, reason=form.reason, by=by, at=now)
    store.add_concession(session, row)


def sheet_with(session: Session, build_id: int, key: str) -> str:
    """The address of the sheet that a figure is typed on, or of the form that adds what has such a sheet.

    Raises NotFound.
    """
    try:
        place = next(place for place, some in FIGURES.items() if figure_named(key) in some)
    except KeyError as unknown:
        raise NotFound("There is no such figure.") from unknown
    for subsystem in builds.subsystem_faces(session, build_id):
        if subsystem.kind == place:
            return urls.figure_field(build_id, subsystem.id, key)
    return urls.subsystems_wanting(build_id, place)


def figures_page(
    session: Session,
    build_id: int,
    subsystem_id: int,
    now: datetime,
    refused: Refused | None = None,
    conceding: str | None = None,
) -> page.FiguresPage:
    """`conceding`: the rule whose concession was refused, none where the figures were. Raises NotFound."""
    build = builds.build_face(session, build_id)
    subsystem = builds.subsystem_face(session, build_id, subsystem_id)
    asked = figures.asked_of(subsystem.kind)
    row = store.sheet(session, subsystem_id)
    around = designs.surroundings(session, build)
    case = designs.figure_case(subsystem, around)
    answers = designs.figure_answers(subsystem, around)
    picture = page.map_picture(case, build.system) if subsystem.kind == Place.TURBO else None
    signed = {rule: signed_by(one) for rule, one in around.conceded_on(subsystem_id).items()}
    return page.figures_page(
        build, subsystem, asked, row, case.plan, answers, signed, picture, now, refused, conceding
    )
