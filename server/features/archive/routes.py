"""Where a build is handed out as one file."""

from collections.abc import Iterator
from typing import BinaryIO

from fastapi import APIRouter, Request, Response
from fastapi.responses import StreamingResponse

from server.db import ReadSession
from server.features.archive import service
from server.web.clock import Now
from server.web.handout import file_name

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
