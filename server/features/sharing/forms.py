"""What is typed at the door."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.web import urls

PHONE, COMPUTER = "A phone or tablet", "A computer"


@dataclass(frozen=True, slots=True)
class SignInForm:
    """name: of a further builder, empty for who owns the server; device: what to call this browser."""

    name: str
    passphrase: str
    device: str
    back: str


def sign_in_form(typed: Mapping[str, str], agent: str) -> SignInForm:
    """agent: how the browser names itself; it tells what a device that was given no name is called."""
    return SignInForm(
        typed.get("name", "").strip(),
        typed.get("passphrase", ""),
        typed.get("device", "").strip() or (PHONE if "mobi" in agent.casefold() else COMPUTER),
        page_to_go_back_to(typed.get("back", "")),
    )


@dataclass(frozen=True, slots=True)
class PassphraseForm:
    old: str
    new: str


def passphrase_form(typed: Mapping[str, str]) -> PassphraseForm:
    return PassphraseForm(typed.get("old", ""), typed.get("new", ""))


def page_to_go_back_to(asked: str) -> str:
    """An address of this server, whatever a link or form asks for; else the home page."""
    inside = (
        asked.startswith("/") and not asked.startswith("//") and "\\" not in asked and asked.isprintable()
    )
    return asked if inside and len(asked) <= 300 else urls.home()
