"""Addresses of one task. Its state is set under an address of the garage, since other sheets set it too."""

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.builds.service import build_face
from server.features.news.service import news_of
from server.features.setbacks import forms as setback_forms
from server.features.setbacks import service as setbacks
from server.features.tasks import forms, service
from server.features.tasks.page import RefusedForm, TaskPage
from server.features.work.service import work_page
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Now
from server.web.render import render
from server.web.view import Page
from server.web.with_photo import Sent

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
TASK = "/builds/{build_id}/tasks/{task_id}"


@router.get(TASK)
def show_task(
    request: Request,
    build_id: int,
    task_id: int,
    session: ReadSession,
    now: Now,
    told: str = "",
    find: str = "",
) -> Response:
    if service.is_aside(session, build_id, task_id):
        return RedirectResponse(urls.telling(urls.work(build_id), f"aside-{task_id}"), status_code=303)
    return render(request, service.task_page(session, build_id, task_id, now, told, find=find[:80]))


def _act_on_task(
    request: Request,
    session: WriteSession,
    place: tuple[int, int],
    now: datetime,
    which: str,
    do: Callable[[], str],
) -> Response:
    """Carry out one act on a task and show its sheet again.

    `place`: numbers of build and task. `do` returns what the sheet is to begin with, or nothing.
    `which` names the form of the sheet that shows the messages of a refusal.
    """
    build_id, task_id = place
    told = ""

    def go() -> str:
        nonlocal told
        told = do()
        return urls.telling(urls.task(build_id, task_id), told)

    def page(refused: Refused | None) -> TaskPage:
        form = RefusedForm(refused, which)
        return service.task_page(session, build_id, task_id, now, told, form)

    return act(request, session, go, page)


@router.post(TASK)
def edit_task(request: Request, build_id: int, task_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_task(session, build_id, task_id, typed)
        return ""

    return _act_on_task(request, session, (build_id, task_id), now, "task", do)


@router.post(TASK + "/afters")
def add_after(request: Request, build_id: int, task_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_after(session, build_id, task_id, typed)
        return ""

    return _act_on_task(request, session, (build_id, task_id), now, "after", do)


@router.post(TASK + "/afters/{row_id}/removal")
def remove_after(
    request: Request, build_id: int, task_id: int, row_id: int, session: WriteSession, now: Now
) -> Response:
    return _act_on_task(
        request,
        session,
        (build_id, task_id),
        now,
        "after",
        lambda: service.remove_after(session, build_id, task_id, row_id),
    )


@router.post(TASK + "/needs")
def add_need(request: Request, build_id: int, task_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_need(session, build_id, task_id, typed)
        return ""

    return _act_on_task(request, session, (build_id, task_id), now, "need", do)


@router.post(TASK + "/needs/{row_id}/removal")
def remove_need(
    request: Request, build_id: int, task_id: int, row_id: int, session: WriteSession, now: Now
) -> Response:
    return _act_on_task(
        request,
        session,
        (build_id, task_id),
        now,
        "need",
        lambda: service.remove_need(session, build_id, task_id, row_id),
    )


@router.post(TASK + "/waits")
def add_wait(request: Request, build_id: int, task_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_wait(session, build_id, task_id, typed)
        return ""

    return _act_on_task(request, session, (build_id, task_id), now, "wait", do)


@router.post(TASK + "/waits/{row_id}/removal")
def remove_wait(
    request: Request, build_id: int, task_id: int, row_id: int, session: WriteSession, now: Now
) -> Response:
    return _act_on_task(
        request,
        session,
        (build_id, task_id),
        now,
        "wait",
        lambda: service.remove_wait(session, build_id, task_id, row_id),
    )


@router.post(TASK + "/holds")
def add_hold(request: Request, build_id: int, task_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_hold(session, build_id, task_id, typed, now)
        return ""

    return _act_on_task(request, session, (build_id, task_id), now, "hold", do)


@router.post(TASK + "/holds/{hold_id}/clearing")
def clear_hold(
    request: Request, build_id: int, task_id: int, hold_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.clear_hold(session, build_id, task_id, hold_id, forms.cleared(typed), now)
        return f"hold-{hold_id}"

    return _act_on_task(request, session, (build_id, task_id), now, "hold", do)


@router.post(TASK + "/photos")
def add_photo(
    request: Request, build_id: int, task_id: int, session: WriteSession, now: Now, sent: Sent
) -> Response:
    def do() -> str:
        service.add_photo(session, build_id, task_id, sent)
        return ""

    return _act_on_task(request, session, (build_id, task_id), now, "photo", do)


@router.post(TASK + "/removal")
def set_task_aside(
    request: Request, build_id: int, task_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.set_aside(session, build_id, task_id, forms.aside(typed), now)
        return urls.telling(urls.work(build_id), f"aside-{task_id}")

    def page(refused: Refused | None) -> Page:
        told = "" if refused else f"aside-{task_id}"
        build = build_face(session, build_id)
        return work_page(session, build, now, news_of(session, build, told, now))

    return act(request, session, do, page)


@router.post(TASK + "/setbacks")
def add_setback(request: Request, build_id: int, task_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        return f"setback-{setbacks.add(session, build_id, task_id, typed)}"

    return _act_on_task(request, session, (build_id, task_id), now, "setback", do)


@router.post(TASK + "/setbacks/{setback_id}")
def edit_setback(
    request: Request, build_id: int, task_id: int, setback_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        setbacks.edit(session, build_id, task_id, setback_id, typed)
        return ""

    return _act_on_task(request, session, (build_id, task_id), now, f"setback-{setback_id}", do)


@router.post(TASK + "/setbacks/{setback_id}/removal")
def set_setback_aside(
    request: Request, build_id: int, task_id: int, setback_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        return setbacks.set_aside(session, build_id, task_id, setback_id, forms.aside(typed), now)

    return _act_on_task(request, session, (build_id, task_id), now, f"setback-{setback_id}", do)


@router.post(TASK + "/setbacks/{setback_id}/happening")
def note_setback(
    request: Request,
    build_id: int,
    task_id: int,
    setback_id: int,
    session: WriteSession,
    now: Now,
    actor: Actor,
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        answer = setback_forms.happened(typed)
        return setbacks.set_happened(session, build_id, task_id, setback_id, answer, now, actor)

    return _act_on_task(request, session, (build_id, task_id), now, f"setback-{setback_id}", do)
