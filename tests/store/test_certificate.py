"""A server that speaks HTTPS by itself."""

import os
import re
import ssl
import subprocess
import sys
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest
from cryptography import x509

from server.app import create_app
from server.certificate import (
    UnusableCertificate,
    _sign,
    check_certificate,
    make_authority,
    with_home_certificate,
)
from server.doctor import look_over
from server.errors import NotAllowed
from server.serving import start_text
from server.settings import PROJECT, Settings, settings_for
from tests.asking import Browser
from tests.bad_line import Certificate, make_certificate
from tests.conftest import TEN_IN_THE_MORNING
from tests.store.test_keeping import put_in_a_build


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
    told = "\n".join(finding.text for finding in look_over(encrypted, TEN_IN_THE_MORNING) if finding.good)
    assert "Connections are encrypted" in told
    broken = replace(encrypted, key=None)
    assert any(
        not finding.good and "neither" in finding.text for finding in look_over(broken, TEN_IN_THE_MORNING)
    )
    text = start_text(replace(encrypted, host="0.0.0.0"), ("192.168.1.20",))
    assert "https://192.168.1.20:8000/" in text
    assert "NOT ENCRYPTED" not in text


def test_the_server_speaks_https_by_itself(
    settings: Settings, certificate: Certificate, now: datetime
) -> None:
    put_in_a_build(settings, now)  # else it would load the demo first
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


# A home authority

AT_HOME = ("garage", "garage.local", "localhost", "192.168.1.20", "127.0.0.1")


@pytest.fixture
def at_home(settings: Settings) -> Settings:
    """A server for the network, with a home authority made for its names."""
    reached = replace(settings, host="0.0.0.0")
    make_authority(reached, AT_HOME[:3], datetime.now(UTC))
    return reached


def shakes_hands(settings: Settings, name: str) -> None:
    """A browser that trusts the authority opens a connection to `name`. Raises SSLError where it won't."""
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    assert settings.certificate is not None
    serving.load_cert_chain(settings.certificate, settings.key)
    asking = ssl.create_default_context(cafile=settings.authority)
    there, back = ssl.MemoryBIO(), ssl.MemoryBIO()
    browser = asking.wrap_bio(back, there, server_hostname=name)
    server = serving.wrap_bio(there, back, server_side=True)
    for _ in range(4):
        for side in (browser, server):
            with suppress(ssl.SSLWantReadError):
                side.do_handshake()
    assert browser.version() is not None


def test_a_home_authority_signs_for_every_name_of_the_server_at_home(at_home: Settings) -> None:
    ready = with_home_certificate(at_home, AT_HOME, datetime.now(UTC))
    assert ready.encrypted
    for name in AT_HOME:
        shakes_hands(ready, name)
    for file in at_home.authority.parent.iterdir():
        assert file.stat().st_mode & 0o077 == 0, file


def test_nobody_is_fooled_by_a_name_that_is_not_of_this_home(at_home: Settings) -> None:
    """RFC 5280, 4.2.1.10: an authority with name constraints can't sign for other names."""
    ready = with_home_certificate(at_home, (*AT_HOME, "example.org", "8.8.8.8"), datetime.now(UTC))
    for name in ("example.org", "8.8.8.8"):
        with pytest.raises(ssl.SSLCertVerificationError):
            shakes_hands(ready, name)
    authority = x509.load_pem_x509_certificate(ready.authority.read_bytes())
    _sign(ready.authority.parent, authority, ["example.org"], datetime.now(UTC))
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        shakes_hands(ready, "example.org")


def test_a_certificate_is_made_anew_before_it_runs_out_and_for_a_new_address(at_home: Settings) -> None:
    now = datetime.now(UTC)
    chain = with_home_certificate(at_home, AT_HOME, now).certificate
    assert chain is not None
    first = chain.read_bytes()
    with_home_certificate(at_home, AT_HOME, now + timedelta(days=300))
    assert chain.read_bytes() == first
    with_home_certificate(at_home, (*AT_HOME, "192.168.1.77"), now)
    moved = chain.read_bytes()
    assert moved != first
    with_home_certificate(at_home, AT_HOME, now + timedelta(days=380))
    assert chain.read_bytes() != moved


def test_what_was_named_by_hand_and_a_server_for_this_machine_alone_are_left_as_they_are(
    at_home: Settings, encrypted: Settings
) -> None:
    now = datetime.now(UTC)
    assert not with_home_certificate(replace(at_home, host="127.0.0.1"), AT_HOME, now).encrypted
    by_hand = replace(encrypted, host="0.0.0.0")
    assert with_home_certificate(by_hand, AT_HOME, now) == by_hand
    with pytest.raises(NotAllowed, match="a home authority already"):
        make_authority(at_home, AT_HOME, now)


def test_a_phone_can_fetch_the_authority_before_it_is_signed_in(at_home: Settings) -> None:
    app = create_app(at_home)
    with Browser(app) as phone:
        content = phone.get("/authority.crt").content
    app.state.engine.dispose()
    limits = x509.load_der_x509_certificate(content).extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical
    assert limits.value.permitted_subtrees is not None
