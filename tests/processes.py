"""A real server and a real PostgreSQL as processes of their own, to be killed at any moment."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import psycopg

from server.settings import PROJECT, Settings

PATIENCE = 180.0
"""So long a process may take to start on a busy machine [s]."""


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as opened:
        port: int = opened.getsockname()[1]
    return port


def until(ready: Callable[[], bool], what: str) -> None:
    """Wait until something holds. Raises TimeoutError."""
    end = time.monotonic() + PATIENCE
    while not ready():
        if time.monotonic() > end:
            raise TimeoutError(what)
        time.sleep(0.02)


class App:
    """`python -m server serve` on a data folder, at one port however often it is started."""

    def __init__(self, settings: Settings, log: Path) -> None:
        self.settings = settings
        self.log = log
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        command = [sys.executable, "-m", "server", "serve", "--port", str(self.port)]
        command += ["--data", str(self.settings.data)]
        environment = {**os.environ, "DATABASE_URL": self.settings.database_url}
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(command, cwd=PROJECT, env=environment, stdout=log, stderr=log)
        until(self._answers, "the server does not start")

    def _answers(self) -> bool:
        assert self.process is not None
        assert self.process.poll() is None, "the server ended by itself"
        try:
            socket.create_connection(("127.0.0.1", self.port), 1).close()
        except OSError:
            return False
        return True

    def kill(self) -> None:
        """At once: nothing is flushed, closed or answered any more."""
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None


class Cluster:
    """A PostgreSQL of its own in a folder, which writes as carefully as it does by default."""

    def __init__(self, folder: Path, log: Path) -> None:
        self.folder = folder
        self.log = log
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None
        self.user = "postgres" if os.getuid() == 0 else None  # it refuses to run as root
        folder.mkdir()
        if self.user is not None:
            self.run("chown", self.user, str(folder), user=None)
        self.run("initdb", "-D", f"{folder}/data", "-U", "witness", "-A", "trust", "-E", "UTF8")

    def create(self, database: str) -> None:
        self.run("createdb", "-h", "127.0.0.1", "-p", str(self.port), "-U", "witness", database)

    @staticmethod
    def programs() -> Path | None:
        """Where the newest PostgreSQL of this machine is; none where there is none."""
        found = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: float(path.parent.name))
        return found[-1] if found else None

    def run(self, program: str, *arguments: str, user: str | None = "") -> None:
        """One of PostgreSQL's own programs, or of the system's. Raises CalledProcessError."""
        folder = self.programs()
        assert folder is not None
        named = str(folder / program) if (folder / program).exists() else program
        subprocess.run(
            [named, *arguments], check=True, capture_output=True, user=self.user if user == "" else user
        )

    def address(self, database: str, driver: str = "+psycopg") -> str:
        return f"postgresql{driver}://witness@127.0.0.1:{self.port}/{database}"

    def start(self) -> None:
        folder = self.programs()
        assert folder is not None
        command = [str(folder / "postgres"), "-D", f"{self.folder}/data", "-h", "127.0.0.1"]
        command += ["-p", str(self.port), "-k", str(self.folder)]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(command, stdout=log, stderr=log, user=self.user)
        until(self._answers, "PostgreSQL does not start")

    def _answers(self) -> bool:
        assert self.process is not None
        assert self.process.poll() is None, "PostgreSQL ended by itself"
        try:
            psycopg.connect(self.address("postgres", ""), connect_timeout=2).close()
        except psycopg.OperationalError:
            return False
        return True

    def kill(self) -> None:
        """The server and every process that it started, at once."""
        if self.process is None:
            return
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text().split()
        self.process.send_signal(signal.SIGKILL)
        for child in map(int, children):
            try:
                os.kill(child, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self.process.wait()
        self.process = None
        until(lambda: not any(Path(f"/proc/{child}").exists() for child in children), "it does not die")
