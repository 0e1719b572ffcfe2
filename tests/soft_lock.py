"""The lock of a phone, made of software: what a browser sends of a passkey.

Source: W3C Web Authentication, level 2, sections 5.8.1 (client data), 6.1 (authenticator data), 6.5.4
(attestation object), 8.7 (no attestation); RFC 9053, section 7.1.1 (a key of curve P-256).
"""

import hashlib
import json
from dataclasses import dataclass, field
from typing import Any

import cbor2
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from webauthn.helpers import bytes_to_base64url

PRESENT, UNLOCKED, WITH_KEY = 0x01, 0x04, 0x40


@dataclass
class SoftLock:
    """One passkey for one site. host: the name that it is bound to; flags: what it says of its owner."""

    host: str
    origin: str
    flags: int = PRESENT | UNLOCKED
    number: bytes = b"a passkey of a test"
    uses: int = 0
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))

    def made(self, options: dict[str, Any]) -> str:
        """The answer to a question for a new passkey, as JSON."""
        point = self.key.public_key().public_numbers()
        cose = {1: 2, 3: -7, -1: 1, -2: point.x.to_bytes(32), -3: point.y.to_bytes(32)}
        about = bytes(16) + len(self.number).to_bytes(2) + self.number + cbor2.dumps(cose)
        data = self._data(self.flags | WITH_KEY) + about
        said = {
            "clientDataJSON": bytes_to_base64url(self._client("webauthn.create", options)),
            "attestationObject": bytes_to_base64url(
                cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
            ),
        }
        return self._answer(said)

    def signed(self, options: dict[str, Any]) -> str:
        """The answer to a challenge, as JSON."""
        self.uses += 1
        data, client = self._data(self.flags), self._client("webauthn.get", options)
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(SHA256()))
        said = {
            "clientDataJSON": bytes_to_base64url(client),
            "authenticatorData": bytes_to_base64url(data),
            "signature": bytes_to_base64url(signature),
        }
        return self._answer(said)

    def _data(self, flags: int) -> bytes:
        return hashlib.sha256(self.host.encode()).digest() + bytes([flags]) + self.uses.to_bytes(4)

    def _client(self, kind: str, options: dict[str, Any]) -> bytes:
        return json.dumps({"type": kind, "challenge": options["challenge"], "origin": self.origin}).encode()

    def _answer(self, said: dict[str, str]) -> str:
        number = bytes_to_base64url(self.number)
        return json.dumps({"id": number, "rawId": number, "type": "public-key", "response": said})
