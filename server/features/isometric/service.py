"""The isometric drawing of a design: where it lies in the car, and what stands near it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.tube.centreline import lay_out
from server.core.tube.isometric.ghosts import ghost, near
from server.core.tube.isometric.looking import Side
from server.core.tube.isometric.scene import OWN, Frame, Path, Scene, scene
from server.core.tube.isometric.sheet import Sheet
from server.core.tube.run import RunPlan
from server.core.tube.space.poses import flow_at, run_axes
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.designs import store
from server.features.designs.service import case_of, surroundings
from server.features.isometric import page
from server.features.keepouts.service import known_solids
from server.features.places.service import known_places

NEAR = 1.25
"""A keep-out is drawn that comes within the run's reach and a quarter more [-]."""


def isometric_page(
    session: Session, build_id: int, design_id: int, side: str, now: datetime
) -> page.IsometricPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    design = store.load_design(session, build_id, design_id)
    rows = store.rows_of(session, [design])[design_id]
    around = surroundings(session, build)
    plan = case_of(rows, around).plan
    seen = _seen(session, build, plan)
    subsystem = around.every_subsystem[design.subsystem_id]
    return page.isometric_page(
        build=build,
        subsystem=subsystem.name,
        design_id=design_id,
        name=design.name,
        plan=plan,
        line=lay_out(plan),
        scene=seen.scene,
        in_car=seen.in_car,
        ghosts=seen.ghosts,
        side=page.side_of(side),
        today=now.date(),
    )


def drawing_of(session: Session, build: BuildFace, plan: RunPlan) -> Sheet | None:
    """The drawing of a run for another sheet; None where it has no pieces."""
    seen = _seen(session, build, plan)
    if seen.scene is None:
        return None
    return page.drawn(plan, seen.scene, Side.ISOMETRIC, seen.in_car, build.system)


@dataclass(frozen=True, slots=True)
class _Seen:
    """A run in space, None without pieces; whether it stands as in the car, and by how many keep-outs."""

    scene: Scene | None
    in_car: bool
    ghosts: int


def _seen(session: Session, build: BuildFace, plan: RunPlan) -> _Seen:
    frame = _frame(session, build, plan)
    line = lay_out(plan)
    if not plan.pieces:
        return _Seen(None, frame is not None, 0)
    drawn = scene(plan, line, build.system, frame or OWN)
    if frame is None:
        return _Seen(drawn, False, 0)
    solids = [solid.keep_out() for solid in known_solids(session, build)]
    shapes = near(solids, drawn.centre, NEAR * drawn.reach)
    ghosts: list[Path] = [path for shape in shapes for path in ghost(shape)]
    return _Seen(scene(plan, line, build.system, frame, ghosts), True, len(shapes))


def _frame(session: Session, build: BuildFace, plan: RunPlan) -> Frame | None:
    """Where the run lies in the car; None where the start port's place or facing is not known."""
    found = known_places(session, build).get(plan.start.id) if plan.start is not None else None
    pose = found.pose if found is not None else None
    if pose is None:
        return None
    flow, left, up = (_three(row) for row in run_axes(flow_at(pose.facing.way, starts=True)))
    return Frame(_three(pose.place.point), (flow, left, up))


def _three(row: Iterable[float]) -> tuple[float, float, float]:
    x, y, z = (float(part) for part in row)
    return x, y, z
