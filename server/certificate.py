"""The certificate of a server that speaks HTTPS by itself."""

import ssl

from server.errors import NotAllowed
from server.settings import Settings


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
