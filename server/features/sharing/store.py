"""Queries on links and sign-ins."""

from datetime import datetime

from sqlmodel import Session, col, select, update

from server.errors import NotFound
from server.features.sharing.tables import ShareToken, SignIn


def add(session: Session, row: ShareToken | SignIn) -> None:
    session.add(row)
    session.flush()


def link_by_digest(session: Session, digest: str) -> ShareToken | None:
    return session.exec(select(ShareToken).where(ShareToken.digest == digest)).one_or_none()


def made_by_form(session: Session, form_digest: str) -> bool:
    """Whether this form made a link before."""
    return (
        session.exec(select(ShareToken.id).where(ShareToken.form_digest == form_digest)).first() is not None
    )


def load_link(session: Session, build_id: int, link_id: int) -> ShareToken:
    """Raises NotFound, also for a link to another build."""
    row = session.get(ShareToken, link_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such link in this build.")
    return row


def links(session: Session, build_id: int) -> list[ShareToken]:
    """The links of a build, newest first."""
    wanted = select(ShareToken).where(ShareToken.build_id == build_id)
    return list(session.exec(wanted.order_by(col(ShareToken.id).desc())))


def note_link_use(session: Session, link_id: int, now: datetime) -> None:
    session.exec(update(ShareToken).where(col(ShareToken.id) == link_id).values(last_used_at=now))


def sign_in_by_digest(session: Session, digest: str) -> SignIn | None:
    return session.exec(select(SignIn).where(SignIn.digest == digest)).one_or_none()


def note_sign_in_seen(session: Session, sign_in_id: int, now: datetime) -> None:
    session.exec(update(SignIn).where(col(SignIn.id) == sign_in_id).values(last_seen_at=now))


def end_sign_in(session: Session, digest: str, now: datetime) -> None:
    running = update(SignIn).where(col(SignIn.digest) == digest, col(SignIn.ended_at).is_(None))
    session.exec(running.values(ended_at=now))


def open_sign_ins(session: Session, builder_id: int | None) -> list[SignIn]:
    """Those of a builder that were not ended, the one seen last first."""
    standing = select(SignIn).where(SignIn.builder_id == builder_id, col(SignIn.ended_at).is_(None))
    return list(session.exec(standing.order_by(col(SignIn.last_seen_at).desc(), col(SignIn.id).desc())))


def load_sign_in(session: Session, builder_id: int | None, sign_in_id: int) -> SignIn:
    """Raises NotFound, also for another builder's."""
    row = session.get(SignIn, sign_in_id)
    if row is None or row.builder_id != builder_id:
        raise NotFound("There is no such sign-in.")
    return row


def end_every_sign_in(session: Session, builder_id: int | None, now: datetime, but: int | None) -> None:
    running = update(SignIn).where(col(SignIn.builder_id) == builder_id, col(SignIn.ended_at).is_(None))
    if but is not None:
        running = running.where(col(SignIn.id) != but)
    session.exec(running.values(ended_at=now))
