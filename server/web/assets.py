"""Static files, read once at the start, served under names that carry a digest of their contents."""

import gzip
import hashlib
import json
import mimetypes
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from server.settings import PROJECT

STATIC = PROJECT / "static"
FOREVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True, slots=True)
class Asset:
    """One static file: its address, type and bytes, plain and compressed."""

    address: str
    media_type: str
    plain: bytes
    packed: bytes


@cache
def assets() -> dict[str, Asset]:
    """Every file below `static/`, by its path there."""
    return {
        path.relative_to(STATIC).as_posix(): _load(path)
        for path in sorted(STATIC.rglob("*"))
        if path.is_file()
    }


def _load(path: Path) -> Asset:
    content = _without_comments(path, path.read_bytes())
    digest = hashlib.sha256(content).hexdigest()[:10]
    name = path.relative_to(STATIC).with_suffix(f".{digest}{path.suffix}").as_posix()
    media_type = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return Asset(f"/static/{name}", media_type, content, gzip.compress(content, 9, mtime=0))


def _without_comments(path: Path, content: bytes) -> bytes:
    """Our own scripts and styles without what only their readers need: comments, indentation.

    A text over several lines would lose its indentation; the scripts have none. A comment behind code goes
    where it has no quotation mark, since a text that is still open there would end with one. Vendored files
    stay as they came.
    """
    if path.parent != STATIC or path.suffix not in COMMENT:
        return content
    bare = re.sub(COMMENT[path.suffix], "", content.decode())
    return "\n".join(filter(None, map(str.strip, bare.splitlines()))).encode()


COMMENT = {".js": r"""(?m)^\s*//.*$|\s+// [^"'`\n]*$""", ".css": r"(?s)/\*.*?\*/"}
"""What only a reader needs."""


@cache
def _by_address() -> dict[str, Asset]:
    return {asset.address: asset for asset in assets().values()}


def static(name: str) -> str:
    """The address of a static file, by its path below `static/`. Raises KeyError for an unknown name."""
    return assets()[name].address


WORKER = "sw.js"
FOR_EVERY_PAGE = ("app.css", "app.js", "act.js", "outbox.js", "vendor/htmx-2.0.11.min.js", "icon.svg")
"""What a page needs to be read without signal."""


@cache
def worker() -> str:
    """The worker that keeps pages, told which files belong to this version of the program."""
    files = [static(name) for name in FOR_EVERY_PAGE]
    version = hashlib.sha256(" ".join(asset.address for asset in assets().values()).encode()).hexdigest()[:10]
    return f"const VERSION = {json.dumps(version)};\nconst FILES = {json.dumps(files)};\n" + (
        assets()[WORKER].plain.decode()
    )


async def serve_worker(_request: Request) -> Response:
    """Answer `/sw.js`: at the root, so that the worker may stand in front of every page."""
    return Response(worker(), 200, {"Cache-Control": "no-cache"}, media_type="text/javascript")


async def serve_static(request: Request) -> Response:
    """Answer a request below `/static/`."""
    asset = _by_address().get(request.url.path)
    if asset is None:
        return Response("No such file.", 404, media_type="text/plain")
    headers = {"Cache-Control": FOREVER, "X-Content-Type-Options": "nosniff", "Vary": "Accept-Encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        headers["Content-Encoding"] = "gzip"
        return Response(asset.packed, 200, headers, media_type=asset.media_type)
    return Response(asset.plain, 200, headers, media_type=asset.media_type)
