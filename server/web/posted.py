"""What a form or a script sent, read once: text fields and files, with limits."""

import hashlib
import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field

from fastapi import Request
from starlette.datastructures import UploadFile

MOST_FIELDS = 400
LONGEST_FIELD = 20_000
LARGEST_FILE = 12 * 1024 * 1024
MOST_FILES = 4
LARGEST_FORM = 8_000_000
LARGEST_UPLOAD = LARGEST_FORM + MOST_FILES * LARGEST_FILE
"""Bytes of a whole body, without and with files; what is longer is refused before it is read."""

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
                fields[name] = value[:LONGEST_FIELD].replace("\x00", "").replace("\r\n", "\n")
    key = request.headers.get("idempotency-key", "").strip('"') or fields.pop(KEY_FIELD, "")
    fields.pop(KEY_FIELD, None)
    return Posted(fields, files, key[:100])
