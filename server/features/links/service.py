"""What the builder does with helpers' links."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.work.hours import Visit
from server.errors import Refused
from server.features.builds.service import build_face
from server.features.links import forms, page
from server.features.sharing import service as sharing
from server.features.stints.service import garage_of


def _visits(session: Session, build_id: int, now: datetime) -> list[Visit]:
    """The visits to come, and those of today."""
    garage = garage_of(session, build_face(session, build_id))
    today = now.astimezone(garage.tz(now)).date()
    return [visit for visit in garage.hours.visits if visit.day >= today]


def make(
    session: Session, build_id: int, typed: Mapping[str, str], form_key: str, now: datetime
) -> tuple[str, str]:
    """A new link: the name on it, and its token, which nobody can be shown again.

    Raises NotFound, BadInput, Conflict where this form made its link before.
    """
    form = forms.link_form(typed, [visit.id for visit in _visits(session, build_id, now)])
    token, link = sharing.share(
        session,
        build_id,
        form.name,
        form.scope,
        now,
        form.days,
        visit_id=form.visit_id,
        form_key=form_key,
    )
    return link.name, token


def withdraw(session: Session, build_id: int, link_id: int, now: datetime) -> None:
    """Raises NotFound."""
    sharing.withdraw(session, build_id, link_id, now)


def links_page(
    session: Session,
    build_id: int,
    now: datetime,
    *,
    only_here: bool,
    chosen: str = "",
    new: page.NewLink | None = None,
    refused: Refused | None = None,
) -> page.LinksPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    links, visits = sharing.links(session, build_id), _visits(session, build_id, now)
    return page.links_page(
        build, links, visits, now, only_here=only_here, chosen=chosen, new=new, refused=refused
    )
