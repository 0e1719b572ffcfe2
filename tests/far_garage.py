"""A served build at the end of a bad line, and the phones that are carried to it."""

import os
import shutil
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from signal import SIGKILL
from typing import Self

from fastapi import FastAPI
from playwright._impl._api_structures import SetCookieParam
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext, BrowserType, Playwright, ViewportSize
from playwright.sync_api import Error as Broken
from sqlalchemy import Engine

from server.db import write_session
from server.features.ports import service as ports
from server.features.sharing import service as sharing
from server.features.sharing.page import cookie_name
from server.web import urls
from tests.bad_line import NAME, BadLine, Certificate, bad_line
from tests.factories import a_build
from tests.live import served

QUIET = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE: ViewportSize = {"width": 390, "height": 844}
NAMES = ("chromium", "chromium-browser")


def chromium_program(playwright: Playwright) -> Path | None:
    """Where the browser is on this machine; None where there is none."""
    named = os.environ.get("WITNESS_MARK_CHROMIUM")
    found = named or next((path for name in NAMES if (path := shutil.which(name))), None)
    program = Path(found or playwright.chromium.executable_path)
    return program if program.is_file() else None


def arguments(certificate: Certificate) -> list[str]:
    """What Chromium is started with: it finds the garage's server, and trusts its certificate."""
    return [
        *QUIET,
        f"--host-resolver-rules=MAP {NAME} 127.0.0.1",
        f"--ignore-certificate-errors-spki-list={certificate.digest}",
    ]


IMPATIENT = (
    "const limit = AbortSignal.timeout; AbortSignal.timeout = (ms) => limit.call(AbortSignal, ms / 5);"
)
"""A try of 15 s takes three."""


@dataclass(frozen=True)
class Garage:
    """A served build, the bad line to it, and one signed-in phone."""

    app: FastAPI
    engine: Engine
    line: BadLine
    port: str
    sheet: str
    cookie: SetCookieParam
    build_id: int


@contextmanager
def signed_in(context: BrowserContext, garage: Garage) -> Iterator[BrowserContext]:
    """A browser at the door of a garage, let in."""
    context.set_default_timeout(10_000)
    context.add_cookies([garage.cookie])
    yield context
    with suppress(Broken):  # it may have died before
        context.close()


@contextmanager
def in_garage(chromium: Chromium, garage: Garage) -> Iterator[BrowserContext]:
    """A phone that nobody switches off."""
    context = chromium.new_context(
        base_url=garage.line.address, viewport=PHONE, has_touch=True, locale="en-GB"
    )
    with signed_in(context, garage):
        yield context


@dataclass(frozen=True)
class Phone:
    """Starts the browser of one phone, whose store outlives it. It gives up a try after three seconds."""

    kind: BrowserType
    program: str
    profile: Path
    arguments: list[str]

    @contextmanager
    def on(self, garage: Garage) -> Iterator[BrowserContext]:
        """Switched on; leaving kills it."""
        context = self.kind.launch_persistent_context(
            self.profile,
            executable_path=self.program,
            args=self.arguments,
            base_url=garage.line.address,
            viewport=PHONE,
            has_touch=True,
            locale="en-GB",
        )
        context.add_init_script(IMPATIENT)
        with signed_in(context, garage):
            yield context


class Pocket:
    """A phone that stays switched on until it is taken out, or dies at once and is switched on again."""

    def __init__(self, phone: Phone, garage: Garage) -> None:
        self.phone, self.garage = phone, garage
        self.on = ExitStack()
        self.context = self.on.enter_context(phone.on(garage))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.on.close()

    def die(self) -> None:
        """The whole browser is killed, without a farewell; then it starts again, with what is on its disk."""
        assert self.context.browser is not None
        told = self.context.browser.new_browser_cdp_session().send("SystemInfo.getProcessInfo")
        os.kill(next(one["id"] for one in told["processInfo"] if one["type"] == "browser"), SIGKILL)
        self.on.close()
        self.context = self.on.enter_context(self.phone.on(self.garage))


@contextmanager
def a_garage_far_off(app: FastAPI, secure: Certificate | None) -> Iterator[Garage]:
    clock, engine = app.state.clock, app.state.engine
    with write_session(engine) as session:
        build = a_build(session, clock())
        spigot = {"role": "run end", "shape": "spigot", "medium": "air"}
        port = ports.add_port(session, build.id, {"name": "Air meter outlet", **spigot})
        token = sharing.sign_in(session, clock())
    with served(app) as address, bad_line(int(address.rsplit(":", 1)[1]), secure) as line:
        cookie: SetCookieParam = {
            "name": cookie_name(secure is not None),
            "value": token,
            "url": line.address,
            "secure": secure is not None,
            "httpOnly": True,
            "sameSite": "Lax",
            "expires": time.time() + 8 * 3600,
        }
        yield Garage(app, engine, line, urls.port(build.id, port), urls.work(build.id), cookie, build.id)
