"""A passkey is made on a phone, and from then on opens the door in place of the passphrase.

The phone signs a challenge of ours, which stands for a few minutes and is taken once, and says itself that
its owner unlocked it. Source: W3C Web Authentication, level 2; the checks are those of the library.
"""

import hashlib
import ipaddress
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from cbor2 import CBORError
from sqlmodel import Session
from webauthn import (
    base64url_to_bytes,
    generate_authentication_options,
    generate_registration_options,
    options_to_json,
    verify_authentication_response,
    verify_registration_response,
)
from webauthn.helpers import (
    bytes_to_base64url,
    generate_challenge,
    parse_authentication_credential_json,
    parse_client_data_json,
    parse_registration_credential_json,
)
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from server.errors import BadInput, FieldError
from server.features.builders.service import BUILDER, name_of
from server.features.passkeys import store
from server.features.passkeys.tables import Passkey, PasskeyChallenge
from server.web.whose import Whose

T = TypeVar("T")

STANDS = timedelta(minutes=5)
MOST_CHALLENGES = 500
MOST_PASSKEYS = 20
ODD = (WebAuthnException, CBORError, ValueError, TypeError, LookupError, AttributeError, RecursionError)
"""What comes of bytes that are no passkey's."""
VERIFIED = UserVerificationRequirement.REQUIRED


@dataclass(frozen=True, slots=True)
class Site:
    """The server as the phone knows it. host: its name, which a passkey is bound to; origin: with the way."""

    host: str
    origin: str

    @property
    def takes_passkeys(self) -> bool:
        """Browsers make them for names only, and where nobody can listen."""
        encrypted = self.origin.startswith("https:") or self.host == "localhost"
        return encrypted and not _is_number(self.host)


def _is_number(host: str) -> bool:
    try:
        ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return False
    return True


def passkeys(session: Session, whose: Whose) -> list[Passkey]:
    """Those of a builder, the newest first."""
    return store.all_of(session, whose.builder_id)


def withdraw(session: Session, whose: Whose, passkey_id: int) -> None:
    """It opens nothing any more. Raises NotFound."""
    store.remove(session, whose.builder_id, passkey_id)


def ask_for_new(session: Session, whose: Whose, site: Site, now: datetime) -> str:
    """What a browser needs to make a passkey, as JSON."""
    have = [
        PublicKeyCredentialDescriptor(id=base64url_to_bytes(row.credential))
        for row in passkeys(session, whose)
    ]
    options = generate_registration_options(
        rp_id=site.host,
        rp_name="Witness Mark",
        user_id=f"builder {whose.builder_id or 0}".encode(),
        user_name=name_of(session, whose) or BUILDER,
        challenge=_challenge(session, now),
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.REQUIRED, user_verification=VERIFIED
        ),
        exclude_credentials=have,
    )
    return options_to_json(options)


def ask_to_sign(session: Session, site: Site, now: datetime) -> str:
    """What a browser needs to sign in by any passkey that it has for this server, as JSON."""
    challenge = _challenge(session, now)
    return options_to_json(
        generate_authentication_options(rp_id=site.host, challenge=challenge, user_verification=VERIFIED)
    )


def _challenge(session: Session, now: datetime) -> bytes:
    store.forget_challenges(session, now, MOST_CHALLENGES)
    challenge = generate_challenge()
    store.add(session, PasskeyChallenge(digest=_digest(challenge), ends_at=now + STANDS))
    return challenge


def keep_new(session: Session, whose: Whose, site: Site, sent: str, name: str, now: datetime) -> None:
    """Keep the passkey that a browser made. sent: its answer, as JSON. Raises BadInput on `credential`."""
    if len(passkeys(session, whose)) >= MOST_PASSKEYS:
        raise _refusal(f"There are {MOST_PASSKEYS} passkeys already. Withdraw one first.")
    credential = _read(lambda: parse_registration_credential_json(sent))
    challenge = _taken(session, credential.response.client_data_json, now)
    made = _read(
        lambda: verify_registration_response(
            credential=credential,
            expected_challenge=challenge,
            expected_rp_id=site.host,
            expected_origin=site.origin,
            require_user_verification=True,
        )
    )
    number = bytes_to_base64url(made.credential_id)
    if store.by_credential(session, number) is not None:
        raise _refusal("This passkey is kept already.")
    row = Passkey(
        builder_id=whose.builder_id,
        name=name[:80],
        credential=number,
        public_key=made.credential_public_key,
        uses=made.sign_count,
        created_at=now,
    )
    store.add(session, row)


def signed_by(session: Session, site: Site, sent: str, now: datetime) -> Whose:
    """Whose passkey signed our challenge. sent: the browser's answer, as JSON. Raises BadInput."""
    credential = _read(lambda: parse_authentication_credential_json(sent))
    challenge = _taken(session, credential.response.client_data_json, now)
    row = store.by_credential(session, bytes_to_base64url(credential.raw_id))
    if row is None:
        raise _refusal("This passkey is not known here, or was withdrawn.")
    signed = _read(
        lambda: verify_authentication_response(
            credential=credential,
            expected_challenge=challenge,
            expected_rp_id=site.host,
            expected_origin=site.origin,
            credential_public_key=row.public_key,
            credential_current_sign_count=row.uses,
            require_user_verification=True,
        )
    )
    row.uses, row.last_used_at = signed.new_sign_count, now
    store.add(session, row)
    return Whose(row.builder_id)


def _taken(session: Session, client_data: bytes, now: datetime) -> bytes:
    """The challenge that a browser answered to, if it is one of ours that stands."""
    challenge = _read(lambda: parse_client_data_json(client_data)).challenge
    if not store.take_challenge(session, _digest(challenge), now):
        raise _refusal("That took too long, or was answered before.")
    return challenge


def _read(do: Callable[[], T]) -> T:
    """Whatever a browser sends that is no proof is told in one way: how it failed helps only who forges."""
    try:
        return do()
    except ODD as error:
        raise _refusal("This passkey could not be checked.") from error


def _refusal(message: str) -> BadInput:
    accepts = "try once more, or give the passphrase"
    return BadInput((FieldError("credential", message, accepts),), {})


def _digest(challenge: bytes) -> str:
    return hashlib.sha256(challenge).hexdigest()
