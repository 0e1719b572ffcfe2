"""Settings, read once from the environment and never changed after."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

COPIES = "copies"
"""Where nightly copies are in the data folder, where no other place is named."""
OFF = "off"
PROJECT = Path(__file__).resolve().parent.parent


@dataclass(frozen=True, slots=True)
class Settings:
    """Where the data lives and how the server is reached."""

    data: Path
    database_url: str
    host: str = "127.0.0.1"
    port: int = 8000
    extra_hosts: tuple[str, ...] = ()
    certificate: Path | None = None
    key: Path | None = None
    copies: Path | None = None
    """Where `serve` makes a copy every night; none where it shall not."""

    @property
    def loopback(self) -> bool:
        """Only this machine can reach the server, so no passphrase is asked.

        A further host name means that something in front of the server lets others in.
        """
        return self.host in {"127.0.0.1", "localhost", "::1"} and not self.extra_hosts

    @property
    def encrypted(self) -> bool:
        """The server speaks HTTPS by itself."""
        return self.certificate is not None and self.key is not None

    @property
    def authority(self) -> Path:
        """Where the home authority's certificate is, once one was made."""
        return self.data / "authority" / "authority.pem"

    @property
    def photos(self) -> Path:
        return self.data / "photos"


def settings_for(
    data: Path | None = None,
    host: str = "127.0.0.1",
    port: int = 8000,
    environment: Mapping[str, str] = os.environ,
    copies: str = "",
) -> Settings:
    """Settings from the command line, then the environment, then the defaults.

    `WITNESS_MARK_DATA` names the data folder, `DATABASE_URL` another database than the file in it,
    `WITNESS_MARK_HOSTS` further host names (comma separated) under which the server may be asked.
    `WITNESS_MARK_CERTIFICATE` and `WITNESS_MARK_KEY` name PEM files; with both the server speaks HTTPS.
    `WITNESS_MARK_COPIES` names the folder of nightly copies; `off` for none.
    """
    folder = (data or Path(environment.get("WITNESS_MARK_DATA", PROJECT / "data"))).resolve()
    url = environment.get("DATABASE_URL") or f"sqlite:///{folder / 'witness-mark.sqlite'}"
    hosts = environment.get("WITNESS_MARK_HOSTS", "")
    extra = tuple(name.strip() for name in hosts.split(",") if name.strip())
    certificate, key = (
        Path(named).resolve() if (named := environment.get(f"WITNESS_MARK_{name}")) else None
        for name in ("CERTIFICATE", "KEY")
    )
    nightly = copies or environment.get("WITNESS_MARK_COPIES") or str(folder / COPIES)
    kept = None if nightly == OFF else Path(nightly).resolve()
    return Settings(folder, url, host, port, extra, certificate, key, kept)
