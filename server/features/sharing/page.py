"""The sign-in page, for servers that other machines can reach, and a helper's link as pages show it."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import ClassVar

from server.errors import Refused
from server.features.builds.page import heading_without_build
from server.web.view import FormState, Page

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
    back: str
    """The page to go to afterwards."""
    form: FormState


def sign_in_page(
    encrypted: bool, signed_in_since: datetime | None, back: str, today: date, refused: Refused | None
) -> SignInPage:
    return SignInPage(
        **heading_without_build("Sign in", today),
        encrypted=encrypted,
        signed_in_since=signed_in_since,
        back=back,
        form=FormState.of(refused),
    )
