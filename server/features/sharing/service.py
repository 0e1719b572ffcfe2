"""Who may come in: links given to helpers, and the browsers that gave a passphrase.

Tokens are random and shown once; only their SHA-256 digest is stored, which is enough for a token of 128
bits or more. Reading who somebody is changes nothing; `note_use` and `note_seen` write when they were last
here.
"""

import hashlib
import secrets
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlmodel import Session

from server.errors import BadInput, Conflict, FieldError
from server.features.builders.service import BUILDER, LONGEST_NAME
from server.features.sharing import store
from server.features.sharing.page import USUAL_DAYS, Link, Scope
from server.features.sharing.tables import ShareToken, SignIn
from server.web.whose import OWNER, Whose

BASE32 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
TOKEN_LENGTH = 26
"""26 characters of 5 bits: 130 bits."""
MOST_DAYS = 365

IDLE = timedelta(days=30)
ABSOLUTE = timedelta(days=180)
NOTE_EVERY = timedelta(hours=1)
"""How often "last here" is written anew: a write for each page looked at would tell no more."""


def _digest(token: str) -> str:
    return hashlib.sha256(_bytes(token)).hexdigest()


def _bytes(text: str) -> bytes:
    """UTF-8 of anything that can be sent, half characters included."""
    return text.encode("utf-8", "surrogatepass")


def new_token() -> str:
    """26 random base32 characters (RFC 4648, section 6), 130 bits; upper case keeps its QR code small."""
    return "".join(secrets.choice(BASE32) for _ in range(TOKEN_LENGTH))


def share(
    session: Session,
    build_id: int,
    name: str,
    scope: str,
    now: datetime,
    days: int = USUAL_DAYS,
    *,
    visit_id: int | None = None,
    form_key: str = "",
) -> tuple[str, Link]:
    """A new link for one person: its token, to be shown this once, and the link.

    visit_id: a visit of this build, none for the whole of it; form_key: of the form that asks for it.
    Raises BadInput on the fields `name`, `scope` and `days`, Conflict where the form made its link before.
    """
    name = name.strip()
    errors = []
    if not 0 < len(name) <= LONGEST_NAME:
        errors.append(
            FieldError("name", "Who is the link for?", f"a name of up to {LONGEST_NAME} characters")
        )
    if name.casefold() == BUILDER:
        errors.append(FieldError("name", "The log calls you the builder.", "another name"))
    if scope not in set(Scope):
        errors.append(FieldError("scope", "What may they do?", " or ".join(Scope)))
    if not 0 < days <= MOST_DAYS:
        errors.append(FieldError("days", "How long may the link be used?", f"1 to {MOST_DAYS} days"))
    if errors:
        raise BadInput(tuple(errors), {"name": name, "scope": scope, "days": str(days)})
    form = _digest(form_key) if form_key else None
    if form is not None and store.made_by_form(session, form):
        raise Conflict(
            "This form made its link already, and the link was shown then. Withdraw it and make another."
        )
    token = new_token()
    row = ShareToken(
        build_id=build_id,
        visit_id=visit_id,
        form_digest=form,
        name=name,
        digest=_digest(token),
        scope=scope,
        created_at=now,
        expires_at=now + timedelta(days=days),
    )
    store.add(session, row)
    return token, _link(row)


def _link(row: ShareToken) -> Link:
    return Link(
        row.key,
        row.build_id,
        row.visit_id,
        row.name,
        Scope(row.scope),
        row.created_at,
        row.expires_at,
        row.withdrawn_at,
        row.last_used_at,
    )


def links(session: Session, build_id: int) -> tuple[Link, ...]:
    """The links of a build, newest first, those that no longer stand as well."""
    return tuple(_link(row) for row in store.links(session, build_id))


def check_token(session: Session, token: str, now: datetime) -> Link | None:
    """The link that a token opens; None where it is unknown, withdrawn or out of date. Changes nothing.

    A token may be typed by hand: small letters and surrounding spaces are taken as well.
    """
    row = store.link_by_digest(session, _digest(token.strip().upper()))
    if row is None:
        return None
    link = _link(row)
    return link if link.stands(now) else None


def note_use(session: Session, link: Link, now: datetime) -> None:
    """Write down that a link was used, unless that was done within the hour."""
    if link.last_used_at is None or now - link.last_used_at >= NOTE_EVERY:
        store.note_link_use(session, link.id, now)


def withdraw(session: Session, build_id: int, link_id: int, now: datetime) -> None:
    """Close a link at once; closing it again changes nothing. Raises NotFound."""
    row = store.load_link(session, build_id, link_id)
    if row.withdrawn_at is None:
        row.withdrawn_at = now
        store.add(session, row)


@dataclass(frozen=True, slots=True)
class Signed:
    """A browser that is signed in, and as whom. device: what it is called."""

    id: int
    whose: Whose
    device: str
    since: datetime
    last_seen_at: datetime


def sign_in(session: Session, now: datetime, whose: Whose = OWNER, device: str = "") -> str:
    """A new sign-in, after the passphrase was checked: its token of 256 bits, for the cookie."""
    token = secrets.token_urlsafe(32)
    row = SignIn(
        builder_id=whose.builder_id,
        device=device[:LONGEST_NAME],
        digest=_digest(token),
        created_at=now,
        last_seen_at=now,
    )
    store.add(session, row)
    return token


def who(session: Session, token: str, now: datetime) -> Signed | None:
    """The sign-in behind a cookie; None where it is unknown, ended, idle for 30 days or 180 days old."""
    row = store.sign_in_by_digest(session, _digest(token))
    return _signed(row) if row is not None and _lasts(row, now) else None


def _lasts(row: SignIn, now: datetime) -> bool:
    return row.ended_at is None and now - row.last_seen_at < IDLE and now - row.created_at < ABSOLUTE


def _signed(row: SignIn) -> Signed:
    return Signed(row.key, Whose(row.builder_id), row.device, row.created_at, row.last_seen_at)


def signed_in(session: Session, whose: Whose, now: datetime) -> tuple[Signed, ...]:
    """Every browser that is signed in as somebody, the one that was here last first."""
    rows = store.open_sign_ins(session, whose.builder_id)
    return tuple(_signed(row) for row in rows if _lasts(row, now))


def note_seen(session: Session, signed: Signed, now: datetime) -> None:
    """Write down that a browser was here, unless that was done within the hour."""
    if now - signed.last_seen_at >= NOTE_EVERY:
        store.note_sign_in_seen(session, signed.id, now)


def end(session: Session, token: str, now: datetime) -> None:
    """Sign this browser out."""
    store.end_sign_in(session, _digest(token), now)


def end_one(session: Session, whose: Whose, sign_in_id: int, now: datetime) -> None:
    """Sign one of somebody's browsers out; what is signed out already stays so. Raises NotFound."""
    row = store.load_sign_in(session, whose.builder_id, sign_in_id)
    if row.ended_at is None:
        row.ended_at = now
        store.add(session, row)


def end_all(session: Session, whose: Whose, now: datetime, but: int | None = None) -> None:
    """Sign every browser of somebody out, as after a change of the passphrase. but: the one that stays."""
    store.end_every_sign_in(session, whose.builder_id, now, but)


@dataclass(frozen=True, slots=True)
class Attempts:
    """Failed attempts of late, as a value: ask `wait` before a try, keep what `failed` returns after one.

    per_account: failures allowed for one account within `window`, None for no such limit; per_address: the
    same for one network address.
    """

    per_account: int | None = 5
    per_address: int = 20
    window: timedelta = timedelta(minutes=15)
    failures: tuple[tuple[datetime, str, str], ...] = ()

    def wait(self, account: str, address: str, now: datetime) -> timedelta:
        """How long this account and address must wait before the next try; zero where they need not."""
        recent = self._recent(now)
        waits = [self._until_free([when for when, _, who in recent if who == address], self.per_address, now)]
        if self.per_account is not None:
            of_account = [when for when, who, _ in recent if who == account]
            waits.append(self._until_free(of_account, self.per_account, now))
        return max(waits)

    def failed(self, account: str, address: str, now: datetime) -> "Attempts":
        """With one more failure; those older than the window are forgotten."""
        return replace(self, failures=(*self._recent(now), (now, account, address)))

    def succeeded(self, account: str) -> "Attempts":
        """The account's failures are forgotten; they still count against the addresses they came from."""
        kept = tuple((when, "" if who == account else who, address) for when, who, address in self.failures)
        return replace(self, failures=kept)

    def _recent(self, now: datetime) -> tuple[tuple[datetime, str, str], ...]:
        return tuple(one for one in self.failures if now - one[0] < self.window)

    def _until_free(self, moments: list[datetime], limit: int, now: datetime) -> timedelta:
        """Until fewer than `limit` of these moments lie within the window."""
        if len(moments) < limit:
            return timedelta(0)
        return sorted(moments)[-limit] + self.window - now


SIGN_IN_ATTEMPTS = Attempts()
LINK_ATTEMPTS = Attempts(per_account=None, per_address=10, window=timedelta(minutes=1))
"""Tries of a link's token come from an address only: a token that is wrong names no account."""
