"""A garage's bad line: a proxy between a browser and the server that loses, breaks and delays on purpose."""

import base64
import hashlib
import http.client
import socket
import ssl
import struct
import subprocess
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from enum import StrEnum
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from random import Random
from threading import Thread

NAME = "garage.test"
"""A name that no browser takes for this machine (RFC 6761 keeps `.test` for tests)."""

HANG = 0.8
"""How long a hanging line keeps a request [s]; browsers under test give up earlier."""


class Fate(StrEnum):
    """What becomes of a request."""

    through = "it is answered"
    lost = "the line breaks before the server hears of it"
    unanswered = "the server acts, and its answer is lost"
    refused = "something on the way answers 500"
    hangs = "nothing comes back, and nothing breaks"
    hangs_after = "the server acts, and nothing comes back"
    cut = "the answer breaks off half way"
    portal = "a hotspot's sign-in page answers in the server's place"


BEFORE = (Fate.lost, Fate.refused, Fate.hangs, Fate.portal)
"""The server never hears of it."""
AFTER = (Fate.unanswered, Fate.hangs_after, Fate.cut)
"""The server has acted, and the phone does not learn of it."""


@dataclass(frozen=True, slots=True)
class Certificate:
    """PEM files of a server, the authority that signed it, and the digest by which Chromium is told of it."""

    chain: Path
    key: Path
    authority: Path
    digest: str


def make_certificate(folder: Path) -> Certificate:
    """A certificate for `NAME` and 127.0.0.1, signed by an authority made for the occasion."""
    authority, chain = folder / "authority.pem", folder / "server.pem"

    def openssl(*arguments: str, given: bytes = b"") -> bytes:
        done = subprocess.run(
            ["openssl", *arguments], cwd=folder, input=given, capture_output=True, check=True
        )
        return done.stdout

    new_key = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes")
    openssl("req", "-x509", *new_key, "-keyout", "authority.key", "-out", str(authority), "-days", "30",
            "-subj", "/CN=Test authority", "-addext", "basicConstraints=critical,CA:TRUE")  # fmt: skip
    openssl("req", *new_key, "-keyout", "server.key", "-out", "server.csr", "-subj", f"/CN={NAME}")
    names = (
        f"subjectAltName=DNS:{NAME},IP:127.0.0.1\nextendedKeyUsage=serverAuth\nbasicConstraints=CA:FALSE\n"
    )
    (folder / "names").write_text(names)
    openssl("x509", "-req", "-in", "server.csr", "-CA", str(authority), "-CAkey", "authority.key",
            "-CAcreateserial", "-days", "30", "-extfile", "names", "-out", str(chain))  # fmt: skip
    public = openssl("x509", "-in", str(chain), "-pubkey", "-noout")
    der = openssl("pkey", "-pubin", "-outform", "der", given=public)
    digest = base64.b64encode(hashlib.sha256(der).digest()).decode()
    return Certificate(chain, folder / "server.key", authority, digest)


class BadLine:
    """Forwards to the server on `port`. `down` breaks every connection, `silent` answers none."""

    def __init__(self, port: int, certificate: Certificate | None = None) -> None:
        self.port = port
        self.certificate = certificate
        self.down = False
        self.silent = False
        self.fate: Callable[[], Fate] = lambda: Fate.through
        """Of a write."""
        self.fate_of_page: Callable[[], Fate] = lambda: Fate.through
        """Of a page that is asked for."""
        self.seen: Counter[Fate] = Counter()
        self.listening = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self.listening.daemon_threads = True
        self.listening.handle_error = lambda *_: None  # type: ignore[method-assign]  # broken lines are the point
        if certificate:
            secure = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            secure.load_cert_chain(certificate.chain, certificate.key)
            self.listening.socket = secure.wrap_socket(
                self.listening.socket, server_side=True, do_handshake_on_connect=False
            )
        scheme = "https" if certificate else "http"
        self.address = f"{scheme}://{NAME}:{self.listening.server_address[1]}"

    def flaky(self, seed: int, before: float = 0.3, after: float = 0.3) -> None:
        """From now on requests meet a bad fate before or after the server has acted, with these chances,
        drawn with this seed. A page that is asked for meets a line that breaks, no answer of another kind.
        """
        draw = Random(seed)

        def fate() -> Fate:
            place = draw.random()
            return draw.choice(
                BEFORE if place < before else AFTER if place < before + after else (Fate.through,)
            )

        def fate_of_page() -> Fate:
            drawn = fate()
            return Fate.lost if drawn in BEFORE else Fate.unanswered if drawn in AFTER else drawn

        self.fate, self.fate_of_page = fate, fate_of_page

    def good(self) -> None:
        self.down = self.silent = False
        self.fate = self.fate_of_page = lambda: Fate.through

    def _handler(line) -> type[BaseHTTPRequestHandler]:  # noqa: N805  (inside, `self` is the handler)
        class Handler(BaseHTTPRequestHandler):
            def log_message(self, *_: object) -> None:
                pass

            def do_GET(self) -> None:
                self.meet(line.fate_of_page())

            def do_POST(self) -> None:
                self.meet(line.fate())

            def meet(self, fate: Fate) -> None:
                while line.silent:
                    time.sleep(0.05)
                body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
                if line.down:
                    return self.reset()
                if self.command == "POST":
                    line.seen[fate] += 1
                match fate:
                    case Fate.lost:
                        return self.reset()
                    case Fate.hangs:
                        time.sleep(HANG)
                        return self.reset()
                    case Fate.refused:
                        return self.answer(500, [("Content-Type", "text/html")], b"<h1>Bad gateway</h1>")
                    case Fate.portal:
                        return self.answer(200, [("Content-Type", "text/html")], b"<h1>Buy an hour</h1>")
                status, headers, content = self.forward(body)
                match fate:
                    case Fate.unanswered:
                        return self.reset()
                    case Fate.hangs_after:
                        time.sleep(HANG)
                        return self.reset()
                    case Fate.cut:
                        return self.answer(status, headers, content, len(content) // 2)
                return self.answer(status, headers, content)

            def forward(self, body: bytes) -> tuple[int, list[tuple[str, str]], bytes]:
                onward = http.client.HTTPConnection("127.0.0.1", line.port, timeout=20)
                kept = {name: value for name, value in self.headers.items() if name.lower() != "connection"}
                kept["X-Forwarded-Proto"] = "https" if line.certificate else "http"
                onward.request(self.command, self.path, body, kept)
                got = onward.getresponse()
                content = got.read()
                onward.close()
                dropped = {"content-length", "connection", "transfer-encoding"}
                return (
                    got.status,
                    [item for item in got.getheaders() if item[0].lower() not in dropped],
                    content,
                )

            def answer(
                self, status: int, headers: list[tuple[str, str]], content: bytes, sent: int | None = None
            ) -> None:
                self.send_response_only(status)
                for name, value in headers:
                    self.send_header(name, value)
                if status != 304:
                    self.send_header("Content-Length", str(len(content)))
                self.end_headers()
                self.wfile.write(content[:sent])

            def reset(self) -> None:
                """Break the connection as a lost signal does: no farewell."""
                self.close_connection = True
                with suppress(OSError):
                    self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                    self.connection.close()

        return Handler


@contextmanager
def bad_line(port: int, certificate: Certificate | None = None) -> Iterator[BadLine]:
    """A line to the server on this port, over HTTPS where a certificate is given."""
    line = BadLine(port, certificate)
    thread = Thread(target=line.listening.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield line
    finally:
        line.silent = False
        line.listening.shutdown()
        line.listening.server_close()
        thread.join(5)
