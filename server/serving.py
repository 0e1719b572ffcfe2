"""Starts the server, and says how to reach it from this machine and from a phone."""

import gc
import ipaddress
import socket
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from io import StringIO

import segno
import uvicorn

from server.ahead import Ahead
from server.app import create_app
from server.certificate import check_certificate, with_home_certificate
from server.errors import NotAllowed
from server.nightly import Nightly
from server.settings import Settings

EVERYWHERE = frozenset({"0.0.0.0", "::"})
NOWHERE = "192.0.2.1"
"""An address kept for documentation (RFC 5737): asking the way there sends nothing."""


class CannotServe(NotAllowed):
    """The server can't start as asked; the text says why and what to do."""


def lan_addresses() -> tuple[str, ...]:
    """Addresses under which other machines of the local network may find this one."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way_out, suppress(OSError):  # no network at all
        way_out.connect((NOWHERE, 9))
        found.append(way_out.getsockname()[0])
    with suppress(OSError):  # the machine may not know its own name
        found += [str(item[4][0]) for item in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(dict.fromkeys(address for address in found if not ipaddress.ip_address(address).is_loopback))


def reachable(settings: Settings, addresses: tuple[str, ...]) -> Settings:
    """The same settings, answering under every name that other machines may use for this one."""
    if settings.host not in EVERYWHERE:
        return settings
    name = socket.gethostname()
    names = (*settings.extra_hosts, *addresses, name, f"{name.split('.')[0]}.local")
    return replace(settings, extra_hosts=tuple(dict.fromkeys(names)))


def start_text(settings: Settings, addresses: tuple[str, ...]) -> str:
    """What is printed at the start."""
    lines = ["", "Witness Mark is running.", f"  On this computer   {_address(settings, '127.0.0.1')}"]
    if settings.loopback:
        lines += [
            "  From a phone       not yet: only this computer can reach it. To change that, stop it and run",
            "                       python -m server passphrase",
            "                       python -m server serve --host 0.0.0.0",
        ]
    else:
        hosts = addresses if settings.host in EVERYWHERE else (settings.host,)
        lines += [f"  From a phone       {_address(settings, host)}" for host in hosts]
        if not hosts:
            lines.append("  From a phone       this computer is on no network at the moment")
        else:
            lines += ["", "Put the phone on the same network and point its camera here:", ""]
            lines.append(qr_text(_address(settings, hosts[0])))
        lines += ENCRYPTED if settings.encrypted else NOT_ENCRYPTED
    lines.append(f"  Data is kept in    {settings.data}")
    lines.append(f"  Copied nightly to  {settings.copies or 'nowhere: no copies are made'}")
    return "\n".join([*lines, "  Stop with          Ctrl-C", ""])


ENCRYPTED = (
    "The passphrase is asked for once on each phone. The connection is encrypted; a phone keeps pages to",
    "read without signal where it trusts the certificate and uses a name that stands in it.",
)
NOT_ENCRYPTED = (
    "The passphrase is asked for once on each phone. This is plain HTTP and NOT ENCRYPTED: whoever",
    "is on the same network can read along. Use a network you trust, or put an HTTPS proxy in front.",
)


def _address(settings: Settings, host: str) -> str:
    scheme = "https" if settings.encrypted else "http"
    return f"{scheme}://{f'[{host}]' if ':' in host else host}:{settings.port}/"


def qr_text(address: str) -> str:
    """The address as a QR code of text blocks, for a terminal."""
    drawn = StringIO()
    segno.make(address, error="m", micro=False).terminal(out=drawn, compact=True, border=2)
    return drawn.getvalue()


def open_socket(settings: Settings) -> socket.socket:
    """The socket to listen on. Raises CannotServe when the address is taken or is not this machine's."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    opened = socket.socket(family, socket.SOCK_STREAM)
    opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        opened.bind((settings.host, settings.port))
    except OSError as error:
        opened.close()
        raise CannotServe(
            f"Can't listen on {settings.host}, port {settings.port}: {error.strerror}. "
            f"Choose another port, for example --port {settings.port + 1}, or stop what uses this one."
        ) from error
    return opened


def settle_memory() -> None:
    """Keep the collector off what stands for good."""
    gc.collect()
    gc.freeze()


def serve(settings: Settings, clock: Callable[[], datetime], say: Callable[[str], None] = print) -> None:
    """Answer requests until stopped. The database must have been migrated already."""
    addresses = lan_addresses()
    named = reachable(settings, addresses)
    named = with_home_certificate(named, (*named.extra_hosts, "localhost", "127.0.0.1"), clock())
    check_certificate(named)
    listening = open_socket(settings)
    ready = replace(named, port=listening.getsockname()[1])
    app = create_app(ready, clock)
    copies, ahead = Nightly(ready, clock), Ahead(app.state.engine, clock)
    settle_memory()
    say(start_text(ready, addresses))
    # The access log would write down addresses, and with them the tokens of shared links.
    config = uvicorn.Config(
        app,
        access_log=False,
        log_level="warning",
        server_header=False,
        lifespan="off",
        ssl_certfile=ready.certificate,
        ssl_keyfile=ready.key,
    )
    try:
        copies.start()
        ahead.start()
        with suppress(KeyboardInterrupt):  # Ctrl-C is how it is stopped
            uvicorn.Server(config).run(sockets=[listening])
    finally:
        copies.stop()
        ahead.stop()
        listening.close()
        app.state.engine.dispose()
