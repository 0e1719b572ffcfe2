"""The sign-in page, for servers that other machines can reach, and a helper's link as pages show it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import ClassVar, Protocol

from server.errors import Refused
from server.features.builds.page import heading_without_build
from server.web import urls
from server.web.view import FormState, Page
from server.web.words import moment_text

USUAL_DAYS = 30
"""How long a link can be used where nothing else is asked for."""


class Scope(StrEnum):
    SHOW = "show"
    """See how it goes, from outside: no prices, addresses or names."""
    LOOK = "look"
    WORK = "work"
    """Look, tick, measure and take photos."""


@dataclass(frozen=True, slots=True)
class Link:
    """A helper's link as the pages show it; the token itself is not among it."""

    id: int
    build_id: int
    visit_id: int | None
    name: str
    scope: Scope
    created_at: datetime
    expires_at: datetime
    withdrawn_at: datetime | None
    last_used_at: datetime | None

    def stands(self, now: datetime) -> bool:
        """Whether the link still opens the build."""
        return self.withdrawn_at is None and now < self.expires_at


def cookie_name(encrypted: bool) -> str:
    """The sign-in cookie. The prefix makes browsers refuse it over plain HTTP or for another host's sake."""
    return "__Host-sid" if encrypted else "sid"


@dataclass(frozen=True, kw_only=True)
class SignInPage(Page):
    """Asks for the passphrase; a browser that gave it may sign out here."""

    template: ClassVar[str] = "sharing/sign_in.html"

    encrypted: bool
    signed_in_since: datetime | None
    asks_name: bool
    """Whether more than one builder could be at the door."""
    back: str
    """The page to go to afterwards."""
    form: FormState


def sign_in_page(
    encrypted: bool,
    signed_in_since: datetime | None,
    back: str,
    today: date,
    refused: Refused | None,
    *,
    asks_name: bool,
) -> SignInPage:
    return SignInPage(
        **heading_without_build("Sign in", today),
        encrypted=encrypted,
        signed_in_since=signed_in_since,
        asks_name=asks_name,
        back=back,
        form=FormState.of(refused),
    )


class SignedBrowser(Protocol):
    """What a page needs to know of a browser that is signed in."""

    @property
    def id(self) -> int: ...
    @property
    def device(self) -> str: ...
    @property
    def since(self) -> datetime: ...
    @property
    def last_seen_at(self) -> datetime: ...


@dataclass(frozen=True, slots=True)
class DeviceLine:
    """One browser of the list. ending: where it is signed out."""

    name: str
    seen: str
    here: bool
    ending: str


@dataclass(frozen=True, kw_only=True)
class SignedInPage(Page):
    """Which browsers are signed in as who asks, the passphrase, and for the server's owner its builders."""

    template: ClassVar[str] = "sharing/signed_in.html"

    name: str
    """Of a further builder; empty for who owns the server."""
    devices: tuple[DeviceLine, ...]
    builders: tuple[str, ...] | None
    """Names of the further builders; None where who asks does not own the server."""
    told: str
    form: FormState


def signed_in_page(
    name: str,
    devices: Iterable[SignedBrowser],
    here: int,
    builders: Iterable[str] | None,
    now: datetime,
    told: str,
    refused: Refused | None,
) -> SignedInPage:
    """here: the number of the sign-in that asks; told: what was just done."""
    return SignedInPage(
        **heading_without_build("Signed in", now.date()),
        name=name,
        devices=tuple(_device(one, one.id == here, now) for one in devices),
        builders=None if builders is None else tuple(builders),
        told=told,
        form=FormState.of(refused),
    )


def _device(one: SignedBrowser, here: bool, now: datetime) -> DeviceLine:
    seen = f"since {moment_text(one.since, now)}, last here {moment_text(one.last_seen_at, now)}"
    return DeviceLine(one.device or "A browser", seen, here, urls.door.ending(one.id))
