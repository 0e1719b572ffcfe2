"""The sheet of a build's keep-outs: each with its place and gap, and the form of one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from server.core.measure.instruments import instrument
from server.core.tube.run import Frame, What
from server.core.tube.space.solids import Shape, Solid
from server.core.units import Kind, System, show
from server.errors import Clash, Refused
from server.features.builds.page import Face, heading
from server.features.places.page import TAPE_INSTRUMENTS
from server.web import urls
from server.web.view import Caution, FormState, Option, Page

if TYPE_CHECKING:
    from server.features.keepouts.tables import KeepOut

LABELS = {
    "what": "What it is",
    "name": "Its name",
    "shape": "Taken for",
    "at": "Its middle",
    "to": "Its other end",
    "across": "Across",
    "long": "Long",
    "wide": "Wide",
    "high": "High",
    "turned": "Turned to the left of forward",
    "gap": "What must stay free round it",
    "moves": "It comes towards a pipe by",
    "frame": "It moves with",
    "instrument": "Measured with",
    "note": "Note",
}
SHAPES = {
    Shape.CAPSULE: "Bar, hose or shaft",
    Shape.BALL: "Ball",
    Shape.BOX: "Box",
}
"""What is chosen, in the order of use."""
FIELDS = {
    Shape.CAPSULE: ("at", "to", "across"),
    Shape.BALL: ("at", "across"),
    Shape.BOX: ("at", "long", "wide", "high", "turned"),
}
"""What each shape is measured by."""
HINTS = {
    "at": "forward, left, up of the datum: 400 250 -120",
    "to": "the same, of its other end",
    "long": "along forward, before it is turned",
    "turned": "empty where it stands along the car",
    "moves": "from ride height, at most: droop, bump, full lock; empty where it stays",
    "gap": "beside doubt and engine movement, which come on top",
}
USUAL = "as is usual of it"
CAUTION = Caution(
    "DANGER",
    "A brake or fuel line rubbed through, a steering shaft that jams: each can kill. What stands here is"
    " taken for simple solids: look at the car itself, lock to lock, at droop and at bump. Never lie under"
    " a car on a jack. Makers' clearances, local codes and licensed practice come first.",
)


@dataclass(frozen=True, slots=True)
class KeepOutLine:
    """One keep-out of the list. point: of its middle or first end, forward, left and up [m]."""

    id: int
    name: str
    what: str
    shape: str
    detail: str
    gap: str
    frame: str
    note: str
    point: tuple[float, ...]
    selected: bool


@dataclass(frozen=True, slots=True)
class KeepOutFields:
    """The form of one: a new one (no id), or one that is there. values: of each field, as typed."""

    id: int | None
    version: int
    shape: str
    fields: tuple[str, ...]
    values: dict[str, str]
    form: FormState


@dataclass(frozen=True, slots=True)
class ShapeLink:
    """A shape to enter, as a link that changes the form."""

    href: str
    label: str
    here: bool


@dataclass(frozen=True, slots=True)
class Aside:
    """One that was set aside and can be put back."""

    id: int
    name: str


@dataclass(frozen=True, kw_only=True)
class KeepOutsPage(Page):
    """What pipes must stay clear of."""

    template: ClassVar[str] = "keepouts/list.html"

    build_id: int
    keep_outs: tuple[KeepOutLine, ...]
    aside: tuple[Aside, ...]
    shapes: tuple[ShapeLink, ...]
    labels: dict[str, str]
    hints: dict[str, str]
    whats: tuple[str, ...]
    frames: tuple[Option, ...]
    instruments: tuple[Option, ...]
    unit: str
    fields: KeepOutFields
    caution: Caution = CAUTION


def keep_outs_page(
    *,
    build: Face,
    today: date,
    rows: Sequence["KeepOut"],
    solids: Mapping[int, Solid],
    edit: int | None,
    shape: Shape,
    refused: Refused | None,
) -> KeepOutsPage:
    """rows: those set aside included; solids: of those that stand, by number; edit: whose form is shown."""
    here = {row.key: row for row in rows if row.removed_at is None}
    row = here.get(edit or 0)
    shape = Shape(row.shape) if row is not None else shape
    return KeepOutsPage(
        **heading(build, "Keep-outs", today, within="Ports"),
        build_id=build.id,
        keep_outs=tuple(_line(one, here[one.id].note, build.system, edit) for one in solids.values()),
        aside=tuple(Aside(row.key, row.name) for row in rows if row.removed_at is not None),
        shapes=tuple(
            ShapeLink(urls.keep_outs_shaped(build.id, one), words, one is shape)
            for one, words in SHAPES.items()
        ),
        labels=LABELS | ({"at": "One end"} if shape is Shape.CAPSULE else {}),
        hints=HINTS,
        whats=tuple(what.value for what in What),
        frames=(Option("", USUAL), *(Option(frame, frame) for frame in Frame if frame)),
        instruments=tuple(Option(code, instrument(code).name) for code in TAPE_INSTRUMENTS),
        unit="mm" if build.system is System.metric else "in",
        fields=KeepOutFields(
            row.key if row is not None else None,
            row.version if row is not None else 0,
            shape.value,
            FIELDS[shape],
            _values(row),
            FormState.of(refused),
        ),
    )


def _values(row: "KeepOut | None") -> dict[str, str]:
    values = dict.fromkeys(LABELS, "") | {"what": What.OTHER.value, "instrument": TAPE_INSTRUMENTS[0]}
    if row is None:
        return values
    return values | {"what": row.what, "name": row.name, "frame": row.frame, "note": row.note} | row.typed


def _line(solid: Solid, note: str, system: System, edit: int | None) -> KeepOutLine:
    numbers = solid.numbers

    def length(name: str) -> str:
        return show(numbers[name].value, Kind.length, system).text

    def point(name: str) -> str:
        return ", ".join(length(f"{name}_{axis}") for axis in ("forward", "left", "up"))

    sizes = [f"{length(size)} {size}" for size in ("across", "long", "wide", "high") if size in numbers]
    ends = f"from {point('at')} to {point('to')}" if solid.shape is Shape.CAPSULE else f"at {point('at')}"
    moves = f", comes nearer by {length('moves')}" if "moves" in numbers else ""
    return KeepOutLine(
        id=solid.id,
        name=solid.name,
        what=solid.what.value,
        shape=solid.shape.value,
        detail=f"{', '.join(sizes)}, {ends}{moves}",
        gap=length("gap"),
        frame=solid.frame,
        note=note,
        point=tuple(numbers[f"at_{axis}"].value for axis in ("forward", "left", "up")),
        selected=solid.id == edit,
    )


def keep_out_clashes(wanted: Mapping[str, str], stands: "KeepOut") -> tuple[Clash, ...]:
    """Every field that two people changed. wanted: as typed."""
    before = _values(stands)
    return tuple(
        Clash(name, LABELS[name], before.get(name, ""), wanted[name])
        for name in LABELS
        if name in wanted and wanted[name] != before.get(name, "")
    )
