"""Files that a page hands out: under a plain name, never kept longer than what they tell is true."""

import hashlib
import re
import unicodedata
from dataclasses import dataclass
from datetime import date

from fastapi import Request, Response


@dataclass(frozen=True, slots=True)
class File:
    """A file to hand out under a plain name."""

    name: str
    content: bytes


def file_name(what: str, whose: str, day: date, ending: str) -> str:
    """E.g. "shopping-the-saloon-2026-11-25.pdf": plain letters, figures and dashes only."""
    ascii_only = unicodedata.normalize("NFKD", whose).encode("ascii", "ignore").decode().lower()
    plain = re.sub(r"[^a-z0-9]+", "-", ascii_only).strip("-")[:40].strip("-")
    return "-".join(part for part in (what, plain, day.isoformat()) if part) + f".{ending}"


def hand_out(file: File, media_type: str) -> Response:
    """A file to be kept under its own name."""
    headers = {
        "Content-Disposition": f'attachment; filename="{file.name}"',
        "Cache-Control": "private, no-cache",
    }
    return Response(file.content, headers=headers, media_type=media_type)


def picture(
    request: Request, photo_id: int, content: bytes, digest: str, ending: str = "jpg", what: str = "photo"
) -> Response:
    """A photo, as its `ending` says. It never changes under its address, so it is kept by the browser."""
    headers = {
        "ETag": f'"{digest}"',
        "Cache-Control": "private, max-age=31536000, immutable",
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "X-Content-Type-Options": "nosniff",
        "Content-Disposition": f'inline; filename="{what}-{photo_id}.{ending}"',
    }
    if request.headers.get("if-none-match") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    return Response(content, headers=headers, media_type="image/png" if ending == "png" else "image/jpeg")


def still(revision: str) -> Response:
    """The state of a build, for pages that ask whether it has changed; never kept on the way."""
    return Response(revision, headers={"Cache-Control": "no-store"}, media_type="text/plain")


def feed(request: Request, content: bytes, media_type: str) -> Response:
    """What a program asks for again and again: sent only where it is not what that program has."""
    tag = f'"{hashlib.sha256(content).hexdigest()[:20]}"'
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(content, headers=headers, media_type=media_type)
