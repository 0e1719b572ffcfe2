"""Where a build is handed out as one file, and brought in from one."""

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from typing import BinaryIO

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse, StreamingResponse

from server.db import ReadSession, WriteSession
from server.errors import BadInput
from server.features.archive import forms, service
from server.features.builds.service import builds_page
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.handout import file_name
from server.web.posted import Posted, read_with_file
from server.web.whose import OWNER, Asking

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/export")
def hand_out_build(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    name, file = service.exported(session, request.app.state.settings.photos, build_id, now)
    headers = {
        "Content-Disposition": f'attachment; filename="{file_name("build", name, now.date(), "zip")}"',
        "Cache-Control": "private, no-store",
        "Content-Encoding": "identity",  # packed already
    }
    return StreamingResponse(_parts(file), headers=headers, media_type="application/zip")


def _parts(file: BinaryIO) -> Iterator[bytes]:
    with file:
        while part := file.read(1 << 18):
            yield part


def _digest(file: BinaryIO) -> str:
    """What was sent, in short: the same file sent again is brought in once."""
    found = hashlib.sha256()
    while part := file.read(1 << 20):
        found.update(part)
    file.seek(0)
    return found.hexdigest()


class ArchiveRoute(OnceRoute):
    """Reads an archive where it lies on the disk, and all of it before anybody else has to wait."""

    async def read(self, request: Request) -> Posted:
        folder = request.app.state.settings.photos
        async with read_with_file(request, "archive") as (posted, sent):
            if sent is None:
                request.state.brought = forms.refusal("No file was chosen.")
                return posted
            digest = await run_in_threadpool(_digest, sent)
            try:
                request.state.brought = await run_in_threadpool(service.ready, folder, sent)
            except BadInput as refused:
                request.state.brought = refused
        return replace(posted, fields={**posted.fields, "digest": digest})


bringing = APIRouter(route_class=ArchiveRoute, include_in_schema=False)


@bringing.get("/archives")
def lead_back() -> Response:
    """The form stands on the page of all builds."""
    return RedirectResponse(urls.builds(), status_code=303)


@bringing.post("/archives")
def bring_in(request: Request, session: WriteSession, now: Now, whose: Asking) -> Response:
    brought: service.Ready | BadInput = request.state.brought

    def do() -> str:
        if isinstance(brought, BadInput):
            raise brought
        return urls.garage(service.put_in(session, brought, whose or OWNER))

    return act(request, session, do, lambda refused: builds_page(session, now, whose, bringing=refused))


router.include_router(bringing)
