"""Static files, read once at the start, served under names that carry a digest of their contents."""

import gzip
import hashlib
import json
import mimetypes
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import rcssmin
import rjsmin
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


TOGETHER = {"page.js": ("app.js", "act.js", "kept.js", "outbox.js")}
"""Scripts that every page has, sent as one: a phone opens one connection for them, not four."""


@cache
def assets() -> dict[str, Asset]:
    """Every file below `static/`, by its path there, and those that are sent together as one."""
    files = [path for path in sorted(STATIC.rglob("*")) if path.is_file()]
    contents = {path.relative_to(STATIC): _shortened(path, path.read_bytes()) for path in files}
    for name, parts in TOGETHER.items():
        contents[Path(name)] = b"\n".join(contents.pop(Path(part)) for part in parts)
    return {path.as_posix(): _asset(path, content) for path, content in contents.items()}


def _asset(path: Path, content: bytes) -> Asset:
    digest = hashlib.sha256(content).hexdigest()[:10]
    name = path.with_suffix(f".{digest}{path.suffix}").as_posix()
    media_type = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return Asset(f"/static/{name}", media_type, content, gzip.compress(content, 9, mtime=0))


def _shortened(path: Path, content: bytes) -> bytes:
    """Our own scripts and styles without what only their readers need; vendored files stay as they came."""
    shorten = SHORTEN.get(path.suffix) if path.parent == STATIC else None
    return shorten(content.decode()).encode() if shorten else content


SHORTEN: dict[str, Callable[[str], str]] = {".js": rjsmin.jsmin, ".css": rcssmin.cssmin}


@cache
def _by_address() -> dict[str, Asset]:
    return {asset.address: asset for asset in assets().values()}


def static(name: str) -> str:
    """The address of a static file, by its path below `static/`. Raises KeyError for an unknown name."""
    return assets()[name].address


WORKER = "sw.js"
FOR_EVERY_PAGE = (
    "app.css",
    "page.js",
    "live.js",
    "photo.js",
    "vendor/htmx-2.0.11.min.js",
    "icon.svg",
)
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
