"""Addresses of one design, its pieces, joints and side ports."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response

from server.core.tube.run import PieceKind
from server.db import ReadSession, WriteSession
from server.features.designing import service
from server.features.designing.page import Look
from server.features.runs import forms as run_forms
from server.features.runs import service as runs
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
DESIGN = "/builds/{build_id}/designs/{design_id}"
PIECE = DESIGN + "/pieces/{piece_id}"


def piece_kind(text: str | None) -> PieceKind | None:
    """A kind of piece named in an address; anything else asks for no form."""
    return PieceKind(text) if text in {kind.value for kind in PieceKind} else None


def piece_number(text: str) -> int | None:
    """The number of a piece named in an address or a field; anything else names none."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else None


@router.get(DESIGN)
def show_design(
    request: Request,
    build_id: int,
    design_id: int,
    session: ReadSession,
    now: Now,
    piece: str = "",
    add: str = "",
    after: str = "",
    find: str = "",
    told: str = "",
) -> Response:
    look = Look(
        piece_id=piece_number(piece), new_kind=piece_kind(add), after=after, told=told, find=find[:80]
    )
    return render(request, service.design_page(session, build_id, design_id, now, look))


def act_on_design(
    request: Request,
    session: WriteSession,
    now: Now,
    ids: tuple[int, int],
    look: Look,
    do: Callable[[], str | None],
) -> Response:
    """Carry out one intention on a design. `do` may say where to go next, else it is the design."""
    build_id, design_id = ids
    return act(
        request,
        session,
        lambda: do() or urls.design(build_id, design_id),
        lambda refused: service.design_page(session, build_id, design_id, now, look, refused),
    )


@router.post(DESIGN)
def edit_design(request: Request, build_id: int, design_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> None:
        service.edit_design(session, build_id, design_id, typed)

    return act_on_design(request, session, now, (build_id, design_id), Look(section="design"), do)


@router.post(DESIGN + "/choice")
def choose_design(
    request: Request, build_id: int, design_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        told = service.choose(session, build_id, design_id, typed, now)
        return urls.telling(urls.design(build_id, design_id), told)

    return act_on_design(request, session, now, (build_id, design_id), Look(section="choice"), do)


@router.post(DESIGN + "/copy")
def copy_design(request: Request, build_id: int, design_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        return urls.design(build_id, service.copy_design(session, build_id, design_id, typed))

    return act_on_design(request, session, now, (build_id, design_id), Look(section="copy"), do)


@router.post(DESIGN + "/removal")
def set_aside(request: Request, build_id: int, design_id: int, session: WriteSession, now: Now) -> Response:
    def do() -> None:
        service.set_aside(session, build_id, design_id, now)

    return act_on_design(request, session, now, (build_id, design_id), Look(section="removal"), do)


@router.post(DESIGN + "/return")
def put_back(request: Request, build_id: int, design_id: int, session: WriteSession, now: Now) -> Response:
    def do() -> None:
        service.put_back(session, build_id, design_id)

    return act_on_design(request, session, now, (build_id, design_id), Look(), do)


@router.post(DESIGN + "/concessions")
def concede(
    request: Request, build_id: int, design_id: int, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.concede(session, build_id, design_id, typed, now, actor)
        return urls.design(build_id, design_id) + "#checks"

    look = Look(section="concession", rule=typed.get("rule", ""))
    return act_on_design(request, session, now, (build_id, design_id), look, do)


def change_run(
    request: Request,
    session: WriteSession,
    now: Now,
    ids: tuple[int, int],
    look: Look,
    change: Callable[[WriteSession, int], int | None],
) -> Response:
    """Change the run of a design and look at a piece of it."""

    def do() -> str | None:
        piece = service.in_run(session, *ids, change)
        told = look.told or (f"piece-{piece}" if look.section == "new" else "")
        return urls.piece_look(*ids, piece, told) if piece else None

    return act_on_design(request, session, now, ids, look, do)


@router.post(DESIGN + "/pieces")
def add_piece(request: Request, build_id: int, design_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    after = typed.get("after", "")
    look = Look(new_kind=piece_kind(typed.get("kind")), after=after, section="new")
    return change_run(
        request,
        session,
        now,
        (build_id, design_id),
        look,
        lambda open_session, design: runs.add_piece(
            open_session, design, after, typed, list(service.part_names(open_session, build_id))
        ),
    )


@router.post(PIECE)
def edit_piece(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def change(open_session: WriteSession, design: int) -> int:
        parts = service.part_names(open_session, build_id)
        runs.edit_piece(open_session, design, piece_id, typed, parts)
        return piece_id

    look = Look(piece_id=piece_id, section="piece", told=f"piece-{piece_id}")
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(PIECE + "/cut")
def cut_piece(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def change(open_session: WriteSession, design: int) -> int:
        service.shorten_piece(open_session, build_id, design, piece_id, typed, now)
        return piece_id

    look = Look(piece_id=piece_id, section="cut")
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(PIECE + "/whole")
def make_piece_whole(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    look = Look(piece_id=piece_id, section="cut")
    return change_run(
        request,
        session,
        now,
        (build_id, design_id),
        look,
        lambda open_session, design: runs.make_whole(open_session, design, piece_id, typed),
    )


@router.post(PIECE + "/swap")
def swap_piece(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def change(open_session: WriteSession, design: int) -> int:
        runs.swap_piece(open_session, design, piece_id, typed)
        return piece_id

    look = Look(piece_id=piece_id, section="piece", told=f"piece-{piece_id}")
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(PIECE + "/undo")
def undo_piece(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def change(open_session: WriteSession, design: int) -> int:
        runs.undo_piece(open_session, design, piece_id, typed)
        return piece_id

    look = Look(piece_id=piece_id, section="piece", told=f"undone-{piece_id}")
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(PIECE + "/move")
def move_piece(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def change(open_session: WriteSession, design: int) -> int:
        runs.move_piece(open_session, design, piece_id, run_forms.direction(typed))
        return piece_id

    look = Look(piece_id=piece_id)
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(PIECE + "/removal")
def remove_piece(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    def change(open_session: WriteSession, design: int) -> None:
        runs.remove_piece(open_session, design, piece_id, now)

    return change_run(request, session, now, (build_id, design_id), Look(), change)


@router.post(PIECE + "/return")
def return_piece(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    def change(open_session: WriteSession, design: int) -> int:
        runs.return_piece(open_session, design, piece_id)
        return piece_id

    look = Look(piece_id=piece_id)
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(PIECE + "/bungs")
def add_bung(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def change(open_session: WriteSession, design: int) -> int:
        names = service.side_port_names(open_session, build_id, design)
        runs.add_bung(open_session, design, piece_id, names, typed)
        return piece_id

    look = Look(piece_id=piece_id, section="bung")
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(DESIGN + "/bungs/{bung_id}/removal")
def remove_bung(
    request: Request, build_id: int, design_id: int, bung_id: int, session: WriteSession, now: Now
) -> Response:
    return change_run(
        request,
        session,
        now,
        (build_id, design_id),
        Look(),
        lambda open_session, design: runs.remove_bung(open_session, design, bung_id),
    )


@router.post(DESIGN + "/joints/{joint_id}/copy")
def copy_joint(
    request: Request, build_id: int, design_id: int, joint_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    piece_id = piece_number(typed.get("piece", ""))

    def change(open_session: WriteSession, design: int) -> int | None:
        runs.copy_joint_before(open_session, design, joint_id, typed)
        return piece_id

    look = Look(piece_id=piece_id, section=f"joint {joint_id}")
    return change_run(request, session, now, (build_id, design_id), look, change)


@router.post(DESIGN + "/joints/{joint_id}")
def edit_joint(
    request: Request, build_id: int, design_id: int, joint_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    piece_id = piece_number(typed.get("piece", ""))

    def change(open_session: WriteSession, design: int) -> int | None:
        runs.edit_joint(open_session, design, joint_id, typed)
        return piece_id

    look = Look(piece_id=piece_id, section=f"joint {joint_id}", told=f"joint-{joint_id}")
    return change_run(request, session, now, (build_id, design_id), look, change)
