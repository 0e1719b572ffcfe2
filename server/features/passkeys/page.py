"""The passkeys of one builder."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, Protocol

from server.errors import Refused
from server.features.builds.page import heading_without_build
from server.web import urls
from server.web.view import FormState, Page
from server.web.words import moment_text


class Kept(Protocol):
    """What the page needs to know of a passkey."""

    @property
    def key(self) -> int: ...
    @property
    def name(self) -> str: ...
    @property
    def created_at(self) -> datetime: ...
    @property
    def last_used_at(self) -> datetime | None: ...


@dataclass(frozen=True, slots=True)
class PasskeyLine:
    name: str
    used: str
    withdrawal: str


@dataclass(frozen=True, kw_only=True)
class PasskeysPage(Page):
    """The passkeys of who asks, and a form for one more."""

    template: ClassVar[str] = "passkeys/passkeys.html"

    passkeys: tuple[PasskeyLine, ...]
    possible: bool
    """Whether a browser can make one for the address that this page was asked at."""
    form: FormState


def passkeys_page(
    passkeys: Iterable[Kept], possible: bool, now: datetime, refused: Refused | None
) -> PasskeysPage:
    return PasskeysPage(
        **heading_without_build("Passkeys", now.date()),
        passkeys=tuple(
            PasskeyLine(one.name, _used(one, now), urls.passkeys.withdrawal(one.key)) for one in passkeys
        ),
        possible=possible,
        form=FormState.of(refused),
    )


def _used(one: Kept, now: datetime) -> str:
    last = f"last used {moment_text(one.last_used_at, now)}" if one.last_used_at else "not used yet"
    return f"made {moment_text(one.created_at, now)}, {last}"
