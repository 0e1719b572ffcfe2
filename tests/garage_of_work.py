"""A build in the middle of its work, for tests: sixty tasks and six orders, made through forms."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlmodel import Session

from server.core.work.tasks import TaskState
from server.features.builds import forms as build_forms
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.orders import forms as order_forms
from server.features.orders import service as orders
from server.features.parts import forms as part_forms
from server.features.parts import service as parts
from server.features.ports import service as ports
from server.features.tasks import service as ties
from server.features.work import service as work

ROOMS = ("bench", "engine bay", "under the car", "bench", "engine bay", "outside")
JOBS = (
    "Measure up",
    "Cut the tube",
    "Bead the ends",
    "Tack",
    "Weld out",
    "Leak look",
    "Offer up",
    "Fit",
    "Clamp",
)
PLACES = ("intake", "charge pipe", "downpipe", "oil drain", "coolant pipe", "breather")


@dataclass(frozen=True, slots=True)
class Garage:
    """The numbers that tests ask for."""

    build: BuildFace
    tasks: dict[str, int]
    parts: dict[str, int]


def a_garage(session: Session, now: datetime) -> Garage:
    """Six chains of nine tasks and six loose ones; the third task of each chain needs a part in the post."""
    build_id = builds.create_build(session, build_forms.build_form({"name": "The saloon"}), now)
    build = builds.build_face(session, build_id)
    for kind in ("intake", "charge pipe", "downpipe"):
        builds.add_subsystem(session, build_id, build_forms.subsystem_form({"kind": kind}))
    tasks: dict[str, int] = {}
    for place in PLACES:
        before = None
        for number, job in enumerate(JOBS):
            title = f"{job}, {place}"
            typed = {"title": title, "likely": f"{20 + 10 * number} min", "place": ROOMS[number % len(ROOMS)]}
            tasks[title] = work.add_task(session, build.id, typed)
            if before is not None:
                ties.add_after(session, build.id, tasks[title], {"after_task_id": str(before)})
            before = tasks[title]
    for place in PLACES:
        title = f"Clean the old {place}"
        tasks[title] = work.add_task(session, build.id, {"title": title, "likely": "15 min"})
    known: dict[str, int] = {}
    for number, place in enumerate(PLACES):
        name = f"{60 + number} mm coupler for the {place}"
        typed = {
            "supplier": ("Tarn Hose & Clamp", "Millrace Tube", "Corvid Fasteners")[number % 3],
            "ordered_on": (now - timedelta(days=20)).date().isoformat(),
            "due_on": (now + timedelta(days=3 * number - 4)).date().isoformat(),
            "part_1": name,
            "quantity_1": "2",
            "price_1": "18.40",
            "part_2": "T-bolt clamp",
            "quantity_2": "4",
        }
        orders.add_order(session, build.id, order_forms.new_order(typed, now.date(), "EUR"))
        known[name] = parts.part_named(session, build.id, name)
        need = {"part_id": str(known[name]), "quantity": "2"}
        ties.add_need(session, build.id, tasks[f"Bead the ends, {place}"], need)
    gasket = {"name": "Turbine gasket", "kind": "gasket", "price": "6.00"}
    known["Turbine gasket"] = parts.add_part(session, build.id, part_forms.new_part(gasket))
    ties.add_need(session, build.id, tasks["Fit, downpipe"], {"part_id": str(known["Turbine gasket"])})
    done = tasks["Clean the old intake"]
    work.set_state(session, build.id, done, TaskState.DONE, now)
    work.set_state(session, build.id, tasks["Measure up, intake"], TaskState.DONE, now)
    work.set_state(session, build.id, tasks["Cut the tube, intake"], TaskState.DONE, now)
    return Garage(build, tasks, known)


def a_port(session: Session, build: BuildFace, name: str) -> int:
    """A run end that nobody measured yet."""
    return ports.add_port(
        session, build.id, {"name": name, "role": "run end", "shape": "spigot", "medium": "air"}
    )
