"""The garage, and the acts that are pressed on more than one sheet."""

from dataclasses import replace
from datetime import datetime
from urllib.parse import parse_qsl

from sqlmodel import Session

from server.core.tube.cutting.bench import SAWN
from server.errors import Refused
from server.features.builds.service import build_face, kept, revision_of
from server.features.builds.store import BuildFace
from server.features.designs.service import survey
from server.features.forecasts.service import last_known
from server.features.garage import page
from server.features.garage.forms import Sheet
from server.features.news.service import news_of
from server.features.orders.page import OrdersPage, RefusedForm
from server.features.orders.service import orders_page
from server.features.stint_now.page import StintPage
from server.features.stint_now.service import stint_page
from server.features.stints.service import garage_of
from server.features.tasks.page import TaskPage
from server.features.tasks.service import task_page
from server.features.work.page import WorkPage
from server.features.work.service import minute_of, work_page, work_state
from server.web import urls
from server.web.view import FormState

MOST_AT_HAND = 48
"""So many pages at most are kept ready for a phone without signal: each is made for it and sent."""
VISITS_AT_HAND = 3


def garage_page(
    session: Session, build_id: int, now: datetime, told: str = "", refused: Refused | None = None
) -> page.GaragePage:
    """`told` names what was just done, so that the sheet begins with what came of it. Raises NotFound."""
    build = build_face(session, build_id)
    standing = kept(build, ("garage page", minute_of(now)), lambda: _standing_page(session, build, now))
    return replace(standing, news=news_of(session, build, told, now), form=FormState.of(refused))


def at_hand(session: Session, build_id: int, now: datetime) -> page.AtHand:
    """What is wanted at the car when the signal is gone, the most wanted first. Raises NotFound."""
    build = build_face(session, build_id)
    sheets = [urls.garage, urls.work, urls.stint, urls.shopping, urls.orders, urls.log, urls.ports]
    visits = [one.id for one in garage_of(session, build).hours.visits if one.day >= now.date()]
    found = survey(session, build)
    plans = {bill.design_id: found.checked[bill.design_id].case.plan for bill in found.bills}
    addresses = [
        *(sheet(build.id) for sheet in sheets),
        urls.ledger.pull(build.id),
        urls.first_start.gate(build.id),
        *(urls.visit(build.id, visit) for visit in visits[:VISITS_AT_HAND]),
        *(address(build.id, design) for design in plans for address in (urls.design, urls.cuts)),
        *(urls.port(build.id, port.id) for port in work_state(session, build, now).book.ports if port.wanted),
        *(
            urls.trims(build.id, design, piece.id)
            for design, plan in plans.items()
            for piece in plan.pieces
            if piece.kind in SAWN
        ),
    ]
    return page.AtHand(revision_of(build), tuple(addresses[:MOST_AT_HAND]))


def _standing_page(session: Session, build: BuildFace, now: datetime) -> page.GaragePage:
    """The sheet as it is where nothing was just done."""
    state = work_state(session, build, now)
    return page.garage_page(
        build,
        state.plan,
        state.book.orders,
        state.book.ports,
        state.book.designs,
        state.book.has_engine_sheet,
        None,
        None,
        last_known(session, build.id, now),
    )


def sheet_address(sheet: Sheet, build_id: int, task_id: int | None, told: str, asked: str = "") -> str:
    """Where an act pressed on that sheet leads back to; `asked`: what the sheet was asked for."""
    if sheet is Sheet.STINT:
        return urls.telling(urls.stint(build_id, asked), told)
    if sheet is Sheet.TASK and task_id is not None:
        return urls.telling(urls.task(build_id, task_id), told)
    addresses = {Sheet.ORDERS: urls.orders, Sheet.WORK: urls.work}
    return urls.telling(addresses.get(sheet, urls.garage)(build_id), told)


def sheet_page(
    session: Session,
    sheet: Sheet,
    build_id: int,
    now: datetime,
    told: str,
    refused: Refused | None,
    *,
    task_id: int | None = None,
    line_id: int | None = None,
    asked: str = "",
) -> page.GaragePage | OrdersPage | WorkPage | TaskPage | StintPage:
    """The sheet that an act was pressed on, shown again. Raises NotFound."""
    if sheet is Sheet.TASK and task_id is not None:
        return task_page(session, build_id, task_id, now, told)
    if sheet is Sheet.STINT:
        return stint_page(session, build_id, dict(parse_qsl(asked)), now, told)[0]
    if sheet is Sheet.ORDERS:
        news = news_of(session, build_face(session, build_id), told, now)
        return orders_page(session, build_id, now, news, RefusedForm(refused, line_id))
    if sheet is Sheet.WORK:
        build = build_face(session, build_id)
        return work_page(session, build, now, news_of(session, build, told, now), refused)
    return garage_page(session, build_id, now, told, refused)
