"""Addresses of the dossier of a subsystem."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.errors import NotFound
from server.features.dossier import service
from server.web.clock import Actor, Now
from server.web.handout import hand_out
from server.web.render import render

router = APIRouter(include_in_schema=False)
DOSSIER = "/builds/{build_id}/subsystems/{subsystem_id}/dossier"


def design_number(text: str) -> int | None:
    """The number of a design named in an address, None where none is. Raises NotFound."""
    if not text:
        return None
    if text.isascii() and text.isdigit() and len(text) < 12:
        return int(text)
    raise NotFound("There is no such design in this build.")


@router.get(DOSSIER)
def show_dossier(
    request: Request,
    build_id: int,
    subsystem_id: int,
    session: ReadSession,
    now: Now,
    actor: Actor,
    design: str = "",
) -> Response:
    number = design_number(design)
    return render(request, service.dossier_page(session, build_id, subsystem_id, now, actor, number))


@router.get(DOSSIER + ".pdf")
def hand_out_dossier(
    build_id: int, subsystem_id: int, session: ReadSession, now: Now, actor: Actor, design: str = ""
) -> Response:
    number = design_number(design)
    file = service.dossier_pdf(session, build_id, subsystem_id, now, actor, number)
    return hand_out(file, "application/pdf")
