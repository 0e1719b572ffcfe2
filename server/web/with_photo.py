"""A form that a picture may come with: what was typed, the file, when it was made and by whom."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated

from fastapi import Depends, Request

from server.web.clock import Actor, Made
from server.web.posted import PostedFile


@dataclass(frozen=True, slots=True)
class WithPhoto:
    """typed: the fields; photo: the file, none where none came; folder: where pictures are kept.

    made: the moment of the act; actor: the builder, or the name on a helper's link.
    """

    typed: Mapping[str, str]
    photo: PostedFile | None
    folder: Path
    made: datetime
    actor: str


def _sent(request: Request, made: Made, actor: Actor) -> WithPhoto:
    posted, folder = request.state.posted, request.app.state.settings.photos
    return WithPhoto(posted.fields, posted.files.get("photo"), folder, made, actor)


Sent = Annotated[WithPhoto, Depends(_sent)]
"""The form of this request."""
