"""HTTPS that the server speaks by itself: its certificate, and a home authority that signs one.

The authority is made once and trusted once on each phone. It may sign for the names it was made with and for
addresses of home networks alone, so that who steals it can't pass for anybody else's site.
"""

import ipaddress
import os
import ssl
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from server.errors import NotAllowed
from server.settings import Settings

AUTHORITY_KEY, CERTIFICATE, KEY = "authority.key", "server.pem", "server.key"
"""Files beside the authority's certificate."""
AUTHORITY_DAYS = 3650
CERTIFICATE_DAYS = 397
"""No longer than phones put up with (from memory: 398 days for public ones, 825 for one's own on iOS)."""
RENEW_BEFORE = timedelta(days=30)
AT_HOME = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8")
"""Addresses of home networks (RFC 1918), and this machine."""


class UnusableCertificate(NotAllowed):
    """The files named for HTTPS can't be used; the text says why."""


def check_certificate(settings: Settings) -> None:
    """Raises UnusableCertificate where HTTPS is asked for and its files can't be used."""
    certificate, key = settings.certificate, settings.key
    if certificate is None and key is None:
        return
    if certificate is None or key is None:
        raise UnusableCertificate(
            "For HTTPS set both WITNESS_MARK_CERTIFICATE and WITNESS_MARK_KEY, or neither."
        )
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password=lambda: "")
    except OSError as error:  # an SSLError is one
        raise UnusableCertificate(
            f"The certificate {certificate} with the key {key} can't be used: {error.strerror or error}. "
            "Both are PEM files; the key has no passphrase and belongs to the certificate."
        ) from error


def make_authority(settings: Settings, names: Iterable[str], now: datetime) -> Path:
    """A home authority for these host names; its certificate's file. Raises NotAllowed where there is one."""
    folder = settings.authority.parent
    if settings.authority.is_file():
        raise NotAllowed(
            f"There is a home authority already in {folder}. Phones trust it; to begin anew, move that "
            "folder away, make another, and trust it on each phone."
        )
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    key = ec.generate_private_key(ec.SECP256R1())
    hosts = [x509.DNSName(name) for name in dict.fromkeys(names) if not _address(name)]
    networks = [x509.IPAddress(ipaddress.ip_network(text)) for text in AT_HOME]
    usage = x509.KeyUsage(
        digital_signature=False, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=True, crl_sign=True, encipher_only=False, decipher_only=False,
    )  # fmt: skip
    named = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Witness Mark at home, {now:%Y-%m-%d}")])
    signed = (
        _begun(named, named, key, now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints([*hosts, *networks], None), critical=True)
        .sign(key, hashes.SHA256())
    )
    _write(folder / AUTHORITY_KEY, _pem(key))
    _write(settings.authority, signed.public_bytes(serialization.Encoding.PEM))
    return settings.authority


def with_home_certificate(settings: Settings, names: Sequence[str], now: datetime) -> Settings:
    """The same settings, speaking HTTPS by the home authority where there is one and nothing else was said.

    This machine alone needs none. The certificate is made anew where it runs out within a month, or lacks one
    of the names that may stand in it. Names outside the authority's own are left out.
    """
    if settings.loopback or settings.certificate or settings.key or not settings.authority.is_file():
        return settings
    folder = settings.authority.parent
    authority = x509.load_pem_x509_certificate(settings.authority.read_bytes())
    allowed = [name for name in dict.fromkeys(names) if _allowed(authority, name)]
    if not _stands(folder / CERTIFICATE, allowed, now):
        _sign(folder, authority, allowed, now)
    return replace(settings, certificate=folder / CERTIFICATE, key=folder / KEY)


def _stands(path: Path, names: Iterable[str], now: datetime) -> bool:
    """Whether a certificate is there that holds for a while yet, for all these names."""
    if not path.is_file():
        return False
    read = x509.load_pem_x509_certificate(path.read_bytes())
    held = read.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return now + RENEW_BEFORE < read.not_valid_after_utc and {_name(one) for one in names} <= set(held)


def _sign(folder: Path, authority: x509.Certificate, names: Sequence[str], now: datetime) -> None:
    """A fresh certificate of the server, with a key of its own."""
    signing = serialization.load_pem_private_key((folder / AUTHORITY_KEY).read_bytes(), None)
    if not isinstance(signing, ec.EllipticCurvePrivateKey):
        raise UnusableCertificate(f"The key in {folder} is not the one that was made there.")
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Witness Mark")])
    signed = (
        _begun(subject, authority.subject, key, now, CERTIFICATE_DAYS)
        .add_extension(x509.SubjectAlternativeName([_name(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(signing, hashes.SHA256())
    )
    _write(folder / KEY, _pem(key))
    _write(folder / CERTIFICATE, signed.public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    """What both kinds of certificate share; valid from an hour ago, since clocks differ."""
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _address(name: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(name)
    except ValueError:
        return None


def _name(name: str) -> x509.GeneralName:
    address = _address(name)
    return x509.DNSName(name) if address is None else x509.IPAddress(address)


def _allowed(authority: x509.Certificate, name: str) -> bool:
    """Whether the authority may sign for a host name or an address (RFC 5280, 4.2.1.10)."""
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    own = limits.permitted_subtrees or []
    address = _address(name)
    if address is not None:
        networks = (one.value for one in own if isinstance(one, x509.IPAddress))
        return any(address in ipaddress.ip_network(network) for network in networks)
    return any(
        isinstance(one, x509.DNSName) and (name == one.value or name.endswith(f".{one.value}")) for one in own
    )


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(path: Path, content: bytes) -> None:
    """Replace a file whole, with mode 600 from its first moment."""
    part = path.with_suffix(".part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
