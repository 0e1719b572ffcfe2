"""Small builders of rows for tests. Each goes through a form and a service, as the pages do."""

from collections.abc import Callable
from datetime import datetime

from sqlmodel import Session

import seed_demo
from server.db import make_engine
from server.features.builds import forms, service
from server.features.builds.store import BuildFace, SubsystemFace
from server.migrate import upgrade
from server.settings import Settings


def a_build(session: Session, now: datetime, **typed: str) -> BuildFace:
    """A build, as if these fields had been typed: `a_build(session, now, system="inch")`."""
    fields = {"name": "The saloon", "car": "1999 saloon, 2.1 litre"} | typed
    return service.build_face(session, service.create_build(session, forms.build_form(fields), now))


def a_subsystem(session: Session, build: BuildFace, kind: str = "intake", name: str = "") -> SubsystemFace:
    """A subsystem of the build, under the next free letter."""
    form = forms.subsystem_form({"name": name, "kind": kind})
    return service.subsystem_face(session, build.id, service.add_subsystem(session, build.id, form))


def load_demo(settings: Settings, clock: Callable[[], datetime]) -> None:
    """Migrate the database of these settings and load the demo into it, as `python -m server demo` does."""
    upgrade(settings)
    engine = make_engine(settings.database_url)
    seed_demo.load(engine, settings, clock)
    engine.dispose()
