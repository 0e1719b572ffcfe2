"""What a form or a script sent, read once: text fields and files, with limits."""

import hashlib
import json
import secrets
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from typing import BinaryIO

from fastapi import Request
from starlette.datastructures import UploadFile

MOST_FIELDS = 400
LONGEST_FIELD = 20_000
LARGEST_FILE = 12 * 1024 * 1024
MOST_FILES = 4
LARGEST_FORM = 8_000_000
LARGEST_UPLOAD = LARGEST_FORM + MOST_FILES * LARGEST_FILE
"""Bytes of a whole body, without and with files; what is longer is refused before it is read."""
LARGEST_ARCHIVE = 1_250_000_000
"""The same of a build that is brought in with all its photos: it goes to the disk, not to memory."""

KEY_FIELD = "operation_key"
KEY_LENGTH = 22
SENT = "_sent"
"""Ending of the field with the name of a file that was sent: a refused form asks for it again."""


def new_key() -> str:
    """A fresh 128-bit operation key for a form, always `KEY_LENGTH` characters."""
    return secrets.token_urlsafe(16)


@dataclass(frozen=True, slots=True)
class PostedFile:
    """A file as it arrived; nothing in it is trusted."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Posted:
    """Text fields as typed (the last one wins where a name repeats), files, and the operation key."""

    fields: Mapping[str, str]
    files: Mapping[str, PostedFile] = field(default_factory=dict)
    key: str = ""

    def fingerprint(self, method: str, path: str) -> str:
        """A digest of what was asked, the same for a resend whatever its multipart boundary."""
        digest = hashlib.sha256(f"{method} {path}".encode())
        digest.update(json.dumps(sorted(self.fields.items())).encode("utf-8", "surrogatepass"))
        for name in sorted(self.files):
            digest.update(name.encode("utf-8", "surrogatepass"))
            digest.update(hashlib.sha256(self.files[name].content).digest())
        return digest.hexdigest()


@asynccontextmanager
async def read_with_file(request: Request, name: str) -> AsyncIterator[tuple[Posted, BinaryIO | None]]:
    """The request's form and one large file, on the disk until it is read; none where none came.

    Raises starlette's HTTPException 400 for a body that is no form, or has more parts than allowed.
    """
    async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
        sent = form.get(name)
        fields = {key: _text(value) for key, value in form.multi_items() if isinstance(value, str)}
        file = sent.file if isinstance(sent, UploadFile) and sent.filename else None
        yield Posted(fields, key=_key(request, fields)), file


async def read_posted(request: Request) -> Posted:
    """Read the request's form once.

    Raises starlette's HTTPException 400 for a body that is no form, or has more parts than allowed.
    """
    fields: dict[str, str] = {}
    files: dict[str, PostedFile] = {}
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as form:
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                if value.filename:
                    files[name] = PostedFile(value.filename[:200], await value.read(LARGEST_FILE + 1))
                    fields[name + SENT] = value.filename[:200]
            else:
                fields[name] = _text(value)
    return Posted(fields, files, _key(request, fields))


def _text(value: str) -> str:
    return value[:LONGEST_FIELD].replace("\x00", "").replace("\r\n", "\n")


def _key(request: Request, fields: dict[str, str]) -> str:
    """The operation key, taken out of the fields."""
    typed = fields.pop(KEY_FIELD, "")
    return (request.headers.get("idempotency-key", "").strip('"') or typed)[:100]
