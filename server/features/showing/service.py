"""What a link shows that is for looking from outside: how the build goes."""

import uuid
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from sqlmodel import Session

from server.errors import NotFound
from server.features.builds.service import build_face
from server.features.builds.store import BuildFace
from server.features.designs.service import survey
from server.features.isometric.service import drawing_of
from server.features.photos import service as photo_service
from server.features.photos.page import picture
from server.features.sharing.page import Link
from server.features.showing import page, store
from server.features.work.service import work_state
from server.web import urls
from server.web.render import render_text

NEXT = 5
"""How many of the tasks that can be done now are named."""


def show_page(session: Session, link: Link, token: str, now: datetime) -> page.ShowPage:
    """Raises NotFound."""
    build = build_face(session, link.build_id)
    plan = work_state(session, build, now).plan
    zone = now.tzinfo
    done = [(row.done_at, row.title) for row in store.done(session, build.id)]
    return page.show_page(
        build,
        token,
        store.tasks_counted(session, build.id),
        [plan.task(entry.task_id).title for entry in plan.next[:NEXT]],
        [(at.astimezone(zone).date(), title) for at, title in done if at],
        _drawings(session, build),
        [
            replace(
                picture(build.id, row, now),
                href=urls.helping.photo(token, row.key),
                source=urls.helping.photo(token, row.key, small=True),
                original=None,  # who only looks on gets no more than the page shows
            )
            for row in store.photos(session, build.id)
        ],
        link.expires_at.astimezone(zone).date(),
        now.date(),
    )


def _drawings(session: Session, build: BuildFace) -> Iterator[page.Drawn]:
    found = survey(session, build)
    for bill in found.bills:
        drawing = drawing_of(session, build, found.checked[bill.design_id].case.plan)
        if drawing is not None:
            yield page.Drawn(bill.subsystem_name, drawing)


def photo(session: Session, folder: Path, link: Link, photo_id: int, small: bool) -> tuple[bytes, str]:
    """A picture that the page shows, and its digest. Raises NotFound."""
    if photo_id not in {row.key for row in store.photos(session, link.build_id)}:
        raise NotFound("This link does not show that.")
    return photo_service.content(session, folder, link.build_id, photo_id, small)


def feed(session: Session, link: Link, token: str, origin: str) -> bytes:
    """What was done and photographed last, as an Atom feed (RFC 4287). `origin`: of this server."""
    build = build_face(session, link.build_id)
    entries = [
        page.FeedEntry(_name(build, "task", row.key), f"Done: {row.title}", row.done_at, "")
        for row in store.done(session, build.id)
        if row.done_at
    ]
    entries += [
        page.FeedEntry(
            _name(build, "photo", row.key),
            row.caption or "A photo",
            row.added_at,
            origin + urls.helping.photo(token, row.key),
        )
        for row in store.photos(session, build.id)
    ]
    newest = sorted(entries, key=lambda entry: (entry.at, entry.id), reverse=True)
    text = render_text(
        "showing/feed.xml",
        name=build.name,
        id=_name(build, "build", build.id),
        updated=newest[0].at if newest else link.created_at,
        page=origin + urls.helping.sheet(token),
        feed=origin + urls.helping.feed(token),
        entries=newest,
    )
    return text.encode()


def _name(build: BuildFace, what: str, number: int) -> str:
    """A name that stays the same wherever the server stands (RFC 4122, version 5)."""
    return uuid.uuid5(uuid.NAMESPACE_OID, f"build {build.id} {what} {number}").urn
