"""Who has builds on this server, and the passphrases that they give at its door.

Who owns the server has no row: that passphrase, which stands in no copy of the data, is kept in a file of
its own. Each further builder has a row. Passphrases, which people make up, are kept as argon2id hashes.
"""

import os
import secrets
import unicodedata
from datetime import datetime
from functools import cache
from pathlib import Path
from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlmodel import Session

from server.errors import BadInput, FieldError
from server.features.builders import store
from server.features.builders.tables import Builder
from server.web.whose import OWNER, Whose

PASSPHRASE_FILE = "passphrase"
SHORTEST, LONGEST = 12, 128
LONGEST_NAME = 80
BUILDER = "builder"
"""What the log writes for who owns a build: nobody else may go by it."""

_hasher = PasswordHasher(time_cost=3, memory_cost=64 * 1024, parallelism=4)
"""RFC 9106, section 4, second recommended option."""
_two_at_once = BoundedSemaphore(2)
"""Each hash takes 64 MiB: many at once would take the machine down."""


def name_key(name: str) -> str:
    """Equal for names that people take for the same."""
    return unicodedata.normalize("NFKC", name).strip().casefold()


def add_builder(session: Session, name: str, passphrase: str, now: datetime) -> int:
    """One more builder; their number. Raises BadInput on the fields `name` and `first`."""
    name = name.strip()
    errors = [*_wrong_name(session, name), *_wrong_passphrase(passphrase, "first")]
    if errors:
        raise BadInput(tuple(errors), {"name": name})
    row = Builder(name=name, name_key=name_key(name), passphrase=_hashed(passphrase), created_at=now)
    return store.add(session, row)


def _wrong_name(session: Session, name: str) -> list[FieldError]:
    accepts = f"another name of up to {LONGEST_NAME} characters"
    if not 0 < len(name) <= LONGEST_NAME:
        return [
            FieldError("name", "What is the builder called?", f"a name of up to {LONGEST_NAME} characters")
        ]
    if name_key(name) == BUILDER:
        return [FieldError("name", "The log calls whoever owns a build the builder.", accepts)]
    if store.by_name(session, name_key(name)) is not None:
        return [FieldError("name", "There is a builder of that name.", accepts)]
    return []


def builder_names(session: Session) -> dict[int, str]:
    """The further builders by their number, in the order of their names."""
    return {row.key: row.name for row in store.all_builders(session)}


def name_of(session: Session, whose: Whose) -> str:
    """Empty for who owns the server. Raises NotFound."""
    return "" if whose.builder_id is None else store.load(session, whose.builder_id).name


def whose_name(session: Session, name: str) -> Whose | None:
    """Who goes by a name, an empty one being that of who owns the server; None where nobody does."""
    if not name.strip():
        return OWNER
    row = store.by_name(session, name_key(name))
    return Whose(row.key) if row else None


def set_passphrase(folder: Path, text: str) -> None:
    """Keep the hash of the server owner's passphrase in the data folder, readable by this user alone.

    Raises BadInput on the field `new`; what was typed is not given back.
    """
    _check(text)
    _write_alone(folder / PASSPHRASE_FILE, _hashed(text))


def set_passphrase_of(session: Session, folder: Path, whose: Whose, text: str) -> None:
    """The same for whoever it is. Raises BadInput, NotFound."""
    if whose.builder_id is None:
        set_passphrase(folder, text)
        return
    _check(text)
    row = store.load(session, whose.builder_id)
    row.passphrase = _hashed(text)
    store.add(session, row)


def _check(text: str) -> None:
    errors = _wrong_passphrase(text)
    if errors:
        raise BadInput(tuple(errors), {})


def _wrong_passphrase(text: str, field: str = "new") -> list[FieldError]:
    length = len(_normal(text))
    if SHORTEST <= length <= LONGEST:
        return []
    message = f"A passphrase of {length} characters is too {'short' if length < SHORTEST else 'long'}."
    accepts = f"{SHORTEST} to {LONGEST} characters of any kind; four or five unrelated words do well"
    return [FieldError(field, message, accepts)]


def _normal(text: str) -> str:
    """The same characters, however a keyboard composes its accents (Unicode form NFC)."""
    return unicodedata.normalize("NFC", text)


def _bytes(text: str) -> bytes:
    """UTF-8 of anything that can be sent, half characters included."""
    return _normal(text).encode("utf-8", "surrogatepass")


def _hashed(text: str) -> str:
    with _two_at_once:
        return _hasher.hash(_bytes(text))


def _write_alone(path: Path, text: str) -> None:
    """Replace the file whole, with mode 600 from its first moment."""
    part = path.with_name(f"{path.name}.{secrets.token_hex(8)}.part")
    try:
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise


def passphrase_set(folder: Path) -> bool:
    """Whether there is a passphrase of who owns the server."""
    return (folder / PASSPHRASE_FILE).is_file()


def check_passphrase(folder: Path, text: str) -> bool:
    """Whether this is the server owner's passphrase; none set means no. Takes about a tenth of a second.

    A hash made with other costs than today's is made anew on the way.
    """
    if not passphrase_set(folder):
        return False
    hashed = (folder / PASSPHRASE_FILE).read_text()
    if not _fits(hashed, text):
        return False
    if _hasher.check_needs_rehash(hashed):
        set_passphrase(folder, text)
    return True


def check_passphrase_of(session: Session, folder: Path, whose: Whose | None, text: str) -> bool:
    """The same for whoever it is; where nobody goes by the name it takes as long and means no."""
    if whose is None:
        _fits(_nobody(), text)
        return False
    if whose.builder_id is None:
        return check_passphrase(folder, text)
    return _fits(store.load(session, whose.builder_id).passphrase, text)


@cache
def _nobody() -> str:
    """A hash that no passphrase has."""
    return _hashed(secrets.token_urlsafe(48))


def _fits(hashed: str, text: str) -> bool:
    if not SHORTEST <= len(_normal(text)) <= LONGEST:
        return False
    try:
        with _two_at_once:
            _hasher.verify(hashed, _bytes(text))
    except (VerificationError, InvalidHashError):
        return False
    return True
