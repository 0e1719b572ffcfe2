"""What is typed at the door."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.web import urls


@dataclass(frozen=True, slots=True)
class SignInForm:
    passphrase: str
    back: str


def sign_in_form(typed: Mapping[str, str]) -> SignInForm:
    return SignInForm(typed.get("passphrase", ""), page_to_go_back_to(typed.get("back", "")))


def page_to_go_back_to(asked: str) -> str:
    """An address of this server, whatever a link or form asks for; else the home page."""
    inside = (
        asked.startswith("/") and not asked.startswith("//") and "\\" not in asked and asked.isprintable()
    )
    return asked if inside and len(asked) <= 300 else urls.home()
