"""Queries on passkeys."""

from datetime import datetime

from sqlmodel import Session, col, delete, select

from server.errors import NotFound
from server.features.passkeys.tables import Passkey, PasskeyChallenge


def add(session: Session, row: Passkey | PasskeyChallenge) -> None:
    session.add(row)
    session.flush()


def all_of(session: Session, builder_id: int | None) -> list[Passkey]:
    """The newest first."""
    wanted = select(Passkey).where(Passkey.builder_id == builder_id)
    return list(session.exec(wanted.order_by(col(Passkey.id).desc())))


def by_credential(session: Session, credential: str) -> Passkey | None:
    return session.exec(select(Passkey).where(Passkey.credential == credential)).one_or_none()


def remove(session: Session, builder_id: int | None, passkey_id: int) -> None:
    """Raises NotFound, also for another builder's."""
    row = session.get(Passkey, passkey_id)
    if row is None or row.builder_id != builder_id:
        raise NotFound("There is no such passkey.")
    session.delete(row)


def forget_challenges(session: Session, now: datetime, most: int) -> None:
    """Those that ended, and all but the newest `most`."""
    newest = select(PasskeyChallenge.id).order_by(col(PasskeyChallenge.id).desc()).limit(most)
    session.exec(delete(PasskeyChallenge).where(col(PasskeyChallenge.ends_at) <= now))
    session.exec(delete(PasskeyChallenge).where(col(PasskeyChallenge.id).not_in(newest)))


def take_challenge(session: Session, digest: str, now: datetime) -> bool:
    """Whether it stood; it does no more."""
    standing = delete(PasskeyChallenge).where(
        col(PasskeyChallenge.digest) == digest, col(PasskeyChallenge.ends_at) > now
    )
    return bool(session.exec(standing).rowcount)
