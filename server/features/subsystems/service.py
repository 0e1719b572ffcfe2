"""Pages of subsystems, and the acts on them."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.errors import Refused
from server.features.builds import forms as build_forms
from server.features.builds import service as builds
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.subsystems import page


def add_subsystem(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    return builds.add_subsystem(session, build_id, build_forms.subsystem_form(typed))


def subsystems_page(
    session: Session, build_id: int, now: datetime, refused: Refused | None = None
) -> page.SubsystemsPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    standings = designs.standings(session, build)
    return page.subsystems_page(build, standings, build_forms.SUBSYSTEM_KINDS, now.date(), refused)


def subsystem_page(
    session: Session,
    build_id: int,
    subsystem_id: int,
    now: datetime,
    refused: Refused | None = None,
) -> page.SubsystemPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    subsystem = builds.subsystem_face(session, build_id, subsystem_id)
    around = designs.surroundings(session, build)
    rows = design_store.rows_of(session, design_store.designs_of(session, build_id, subsystem_id))
    return page.subsystem_page(
        build=build,
        subsystem=subsystem,
        designs=[
            (
                item.design,
                item.design.chosen_because,
                len(item.run.pieces),
                designs.answers_of(item, around),
            )
            for item in rows.values()
        ],
        ports=around.ports,
        today=now.date(),
        refused=refused,
    )
