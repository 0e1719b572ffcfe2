"""The page of this phone: its light, its gloves, and what a browser can and cannot do here."""

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.features.builds.page import heading_without_build
from server.web.look import LIGHTS, Look
from server.web.view import FormState, Option, Page

LIGHT_WORDS = {
    LIGHTS[0]: "as this phone is set",
    "sun": "sun: black on white, as strong as it gets",
    "night": "night: dark",
}


@dataclass(frozen=True, slots=True)
class Ability:
    """Something that a browser may be able to do here; the script of the page finds out.

    code: which test of the script; without: what to do where it can't.
    """

    code: str
    words: str
    without: str


HTTPS = "Needs HTTPS with a certificate that this phone trusts."
ABILITIES = (
    Ability(
        "keep",
        "Keep what is typed without signal, and send it later",
        "Private windows keep nothing: use a usual one.",
    ),
    Ability("read", "Show pages again without signal", HTTPS),
    Ability("awake", "Stay awake in a stint", f"{HTTPS} Until then set the screen's own time longer."),
    Ability("install", "Stand on the home screen like a program", f"{HTTPS} A bookmark does nearly as well."),
    Ability("photo", "Take photos from the page", "Any picture of the gallery can be chosen instead."),
)
WAYS = (
    "A name of your own that leads to this machine's address at home, with a certificate from a public "
    "authority by its DNS challenge: nothing to install on phones.",
    "A private overlay network that gives names and certificates: works away from home too, wants a program "
    "on each phone.",
    "An authority of your own, made on the server and trusted once on each phone (on Android as a CA "
    "certificate, on iOS a profile and the switch for full trust). Trust none that was made by anybody else.",
)
"""How to get HTTPS at home, the least work first; common practice, no source."""

TRUSTING = (
    "Android: settings, security, more, install a certificate, CA certificate (not one for Wi-Fi); choose "
    "the file; then close the browser once.",
    "iPhone and iPad: open the file, install the profile in the settings, then switch on full trust for it "
    "under general, about, certificate trust.",
    "A computer: add it to the authorities of the browser or of the system, for websites alone.",
)
"""How a phone is told to trust the home authority; from memory, menus differ by version."""


@dataclass(frozen=True, kw_only=True)
class PhonePage(Page):
    """How pages look here, and what works."""

    template: ClassVar[str] = "this_phone/phone.html"

    lights: tuple[Option, ...]
    light: str
    gloves: bool
    abilities: tuple[Ability, ...]
    ways: tuple[str, ...]
    encrypted: bool
    authority: bool
    """There is a home authority to trust."""
    trusting: tuple[str, ...]
    form: FormState


def phone_page(look: Look, encrypted: bool, authority: bool, today: date) -> PhonePage:
    return PhonePage(
        **heading_without_build("This phone", today),
        lights=tuple(Option(light, words, light == look.light) for light, words in LIGHT_WORDS.items()),
        light=look.light,
        gloves=look.gloves,
        abilities=ABILITIES,
        ways=() if encrypted else WAYS,
        encrypted=encrypted,
        authority=authority,
        trusting=TRUSTING if authority else (),
        form=FormState(),
    )
