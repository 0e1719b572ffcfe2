"""`python -m server`, as it is typed."""

import io
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from urllib.request import urlopen

import pytest

from server.__main__ import main
from server.features.builders.service import check_passphrase
from server.serving import lan_addresses, reachable, start_text
from server.settings import PROJECT, Settings
from tests.store.test_keeping import put_in_a_build

PASSPHRASE = "tin kettle on a wet bench"


def run(settings: Settings, *words: str) -> int:
    return main([words[0], "--data", str(settings.data), *words[1:]])


def give(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(text + "\n"))


def test_without_a_passphrase_the_network_stays_shut(
    settings: Settings, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(settings, "serve", "--host", "0.0.0.0") == 2
    told = capsys.readouterr().err
    assert f"python -m server passphrase --data {settings.data}" in told


def test_a_passphrase_is_set_from_a_script_and_a_short_one_refused(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    give(monkeypatch, "short")
    assert run(settings, "passphrase") == 2
    assert "12 to 128 characters" in capsys.readouterr().err
    give(monkeypatch, PASSPHRASE)
    assert run(settings, "passphrase") == 0
    assert check_passphrase(settings.data, PASSPHRASE)


def test_backup_and_restore_from_the_command_line(
    settings: Settings, tmp_path: Path, now: datetime, capsys: pytest.CaptureFixture[str]
) -> None:
    put_in_a_build(settings, now)
    assert run(settings, "backup", "--to", str(tmp_path / "stick")) == 0
    (copy,) = (tmp_path / "stick").iterdir()
    assert run(settings, "restore", "--from", str(copy)) == 2
    assert "--aside" in capsys.readouterr().err
    assert run(settings, "restore", "--from", str(copy), "--aside") == 0
    assert "What stood there is in" in capsys.readouterr().out
    assert run(settings, "backup", "--to", str(tmp_path / "card"), "--one-file") == 0
    (file,) = (tmp_path / "card").iterdir()
    assert file.suffix == ".zip"
    assert main(["restore", "--data", str(tmp_path / "new"), "--from", str(file)]) == 0


def test_doctor_ends_with_one_where_something_must_be_mended(
    settings: Settings, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(settings, "doctor") == 0
    assert "MEND" not in capsys.readouterr().out
    assert main(["doctor", "--data", str(tmp_path / "nowhere")]) == 1
    assert "MEND" in capsys.readouterr().out


def test_the_start_says_how_a_phone_gets_in_and_that_nothing_is_encrypted(settings: Settings) -> None:
    text = start_text(replace(settings, host="0.0.0.0"), ("192.168.1.20",))
    assert "http://192.168.1.20:8000/" in text
    assert "NOT ENCRYPTED" in text
    assert "█" in text or "▄" in text  # the code to point the camera at
    alone = start_text(settings, ("192.168.1.20",))
    assert "192.168.1.20" not in alone
    assert "python -m server passphrase" in alone


def test_an_open_server_answers_under_the_addresses_it_names(settings: Settings) -> None:
    opened = reachable(replace(settings, host="0.0.0.0"), ("192.168.1.20",))
    assert {"192.168.1.20", socket.gethostname()} <= set(opened.extra_hosts)
    assert reachable(settings, ("192.168.1.20",)) == settings
    assert not any(address.startswith("127.") for address in lan_addresses())


@contextmanager
def served(settings: Settings) -> Iterator[tuple[str, "subprocess.Popen[str]"]]:
    """A server of its own process on a free port; its address, and the process."""
    asked = [sys.executable, "-u", "-m", "server", "serve", "--data", str(settings.data), "--port", "0"]
    process = subprocess.Popen(
        asked,
        cwd=PROJECT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        stdin=subprocess.DEVNULL,
    )
    try:
        assert process.stdout is not None
        told = ""
        while "Ctrl-C" not in told:
            line = process.stdout.readline()
            assert line, told
            told += line
        found = re.search(r"http://127\.0\.0\.1:\d+/", told)
        assert found, told
        yield found[0], process
    finally:
        process.terminate()
        process.communicate(timeout=20)


def test_a_server_answers_writes_down_no_addresses_and_stops_when_told(
    settings: Settings, now: datetime
) -> None:
    put_in_a_build(settings, now)
    with served(settings) as (address, process):
        deadline = time.monotonic() + 10
        while True:
            try:
                with urlopen(address + "builds", timeout=5) as answer:
                    page = answer.read().decode()
                break
            except OSError:
                assert time.monotonic() < deadline
                time.sleep(0.05)
        assert "The saloon" in page
        process.send_signal(signal.SIGINT)
        printed, _ = process.communicate(timeout=20)
    assert process.returncode == 0
    assert printed.strip() == ""


def test_a_port_in_use_is_told_with_another_to_take(
    settings: Settings, now: datetime, capsys: pytest.CaptureFixture[str]
) -> None:
    put_in_a_build(settings, now)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        assert run(settings, "serve", "--port", str(port)) == 2
    assert f"--port {port + 1}" in capsys.readouterr().err
