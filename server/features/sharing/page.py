"""The sign-in page, for servers that other machines can reach."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from server.errors import Refused
from server.features.builds.page import heading_without_build
from server.web.view import FormState, Page


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
