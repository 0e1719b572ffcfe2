"""A server that speaks HTTPS by itself."""

import os
import re
import ssl
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import httpx
import pytest

from server.certificate import UnusableCertificate, check_certificate
from server.doctor import look_over
from server.serving import start_text
from server.settings import PROJECT, Settings, settings_for
from tests.bad_line import Certificate, make_certificate


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return make_certificate(tmp_path_factory.mktemp("authority"))


@pytest.fixture
def encrypted(settings: Settings, certificate: Certificate) -> Settings:
    return replace(settings, certificate=certificate.chain, key=certificate.key)


def test_the_environment_names_certificate_and_key(tmp_path: Path) -> None:
    named = {"WITNESS_MARK_CERTIFICATE": str(tmp_path / "c.pem"), "WITNESS_MARK_KEY": str(tmp_path / "k.pem")}
    assert settings_for(environment=named).encrypted
    assert not settings_for(environment={}).encrypted


def test_a_certificate_without_its_key_or_with_another_is_refused_with_the_way_out(
    encrypted: Settings, certificate: Certificate
) -> None:
    check_certificate(encrypted)
    with pytest.raises(UnusableCertificate, match="both WITNESS_MARK_CERTIFICATE and WITNESS_MARK_KEY"):
        check_certificate(replace(encrypted, key=None))
    with pytest.raises(UnusableCertificate, match="can't be used"):
        check_certificate(replace(encrypted, key=certificate.authority))
    with pytest.raises(UnusableCertificate, match="No such file"):
        check_certificate(replace(encrypted, key=certificate.key.with_name("nowhere.key")))


def test_the_doctor_and_the_start_say_whether_connections_are_encrypted(encrypted: Settings) -> None:
    told = "\n".join(finding.text for finding in look_over(encrypted) if finding.good)
    assert "Connections are encrypted" in told
    broken = replace(encrypted, key=None)
    assert any(not finding.good and "neither" in finding.text for finding in look_over(broken))
    text = start_text(replace(encrypted, host="0.0.0.0"), ("192.168.1.20",))
    assert "https://192.168.1.20:8000/" in text
    assert "NOT ENCRYPTED" not in text


def test_the_server_speaks_https_by_itself(settings: Settings, certificate: Certificate) -> None:
    asked = [sys.executable, "-u", "-m", "server", "serve", "--data", str(settings.data), "--port", "0"]
    named = {"WITNESS_MARK_CERTIFICATE": str(certificate.chain), "WITNESS_MARK_KEY": str(certificate.key)}
    with subprocess.Popen(
        asked,
        cwd=PROJECT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=os.environ | named,
    ) as process:
        try:
            assert process.stdout is not None
            told = ""
            while "Ctrl-C" not in told:
                line = process.stdout.readline()
                assert line, told
                told += line
            found = re.search(r"https://127\.0\.0\.1:\d+/", told)
            assert found, told
            trusting = ssl.create_default_context(cafile=certificate.authority)
            asking = httpx.HTTPTransport(verify=trusting, retries=5)
            with httpx.Client(transport=asking, base_url=found[0], timeout=20) as client:
                answer = client.get("/sw.js")
            assert answer.status_code == 200
            assert answer.headers["cache-control"] == "no-cache"
            assert answer.headers["content-type"].startswith("text/javascript")
        finally:
            process.terminate()
