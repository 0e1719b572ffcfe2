"""What the builder types about where a port is and which way it faces."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import radians

from server.core.measure.instruments import Instrument, instrument
from server.core.measure.typed import Typed
from server.core.tube.space.poses import Level, Tilt
from server.core.tube.space.siting import AXES, DATUM, FACING_WAYS, SIDES, TAPES, TYPED, Way
from server.core.units import Kind, System
from server.features.places.page import LABELS, TAPE_INSTRUMENTS
from server.web.fields import Fields

FARTHEST = 6.0
"""Nothing of a car is further from another part of it [m]."""
OUT_OF_RANGE = "a way from -6 m to 6 m, such as 310 mm, -12 1/4 in, 310 ± 5 mm"


@dataclass(slots=True)
class PoseForm:
    """A reading as typed; numbers: value and doubt by name [m, rad]."""

    way: Way
    instrument: str = ""
    numbers: dict[str, list[float]] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    beside: int | None = None
    note: str = ""

    @property
    def about(self) -> str:
        return "facing" if self.way in FACING_WAYS else "place"


def pose_form(typed: Mapping[str, str], ports: Mapping[int, str], system: System) -> PoseForm:
    """`ports`: names of those with a place, that it may be read from. Raises BadInput."""
    fields = Fields(typed)
    form = PoseForm(Way(fields.choice("way", "How it was read", list(Way), default=Way.OFFSETS)))
    unit = "mm" if system is System.metric else "in"
    if form.way in {Way.OFFSETS, Way.BESIDE}:
        _offsets(fields, form, unit)
        if form.way is Way.BESIDE:
            form.beside = fields.row_id("beside", LABELS["beside"], list(ports), required=True)
    elif form.way is Way.TAPES:
        _tapes(fields, form, unit, ports)
    elif form.way is Way.WORDS:
        _words(fields, form)
    elif form.way is Way.GAUGE:
        _gauge(fields, form)
    else:
        _offsets(fields, form, unit)
        if not fields.errors and not any(form.numbers[axis][0] for axis in AXES):
            fields.refuse(
                "forward", "The tip stands in the opening itself: it tells no direction.", "one that is not 0"
            )
    form.note = fields.text("pose_note", LABELS["pose_note"], most=300)
    fields.done()
    return form


def _offsets(fields: Fields, form: PoseForm, unit: str) -> None:
    tool = _tool(fields, form)
    for axis in AXES:
        read = fields.quantity(
            axis, LABELS[axis], Kind.length, unit=unit, required=True, least=-FARTHEST, most=FARTHEST,
            accepts=OUT_OF_RANGE, sort="offset",
        )  # fmt: skip
        _keep(fields, form, axis, read, tool)


def _tool(fields: Fields, form: PoseForm) -> Instrument:
    form.instrument = fields.choice("instrument", LABELS["instrument"], TAPE_INSTRUMENTS, default="tape")
    return instrument(form.instrument)


def _keep(fields: Fields, form: PoseForm, name: str, read: Typed | None, tool: Instrument) -> None:
    if read is not None:
        form.numbers[name] = [read.value, tool.doubt(read.value) if read.doubt is None else read.doubt]
        form.typed[name] = fields.raw(name)


def _tapes(fields: Fields, form: PoseForm, unit: str, ports: Mapping[int, str]) -> None:
    tool = _tool(fields, form)
    for tape in TAPES:
        label = f"Tape {tape}"
        read = fields.quantity(
            f"tape{tape}", label, Kind.length, unit=unit, required=True, least=0.005, most=FARTHEST,
            accepts="a length from 5 mm to 6 m, such as 405 mm or 16 in", sort="tape",
        )  # fmt: skip
        _keep(fields, form, f"tape{tape}", read, tool)
        hook = f"hook{tape}"
        usual = TYPED if fields.raw(f"{hook}_at") else DATUM
        choices = (DATUM, TYPED, *map(str, ports))
        form.said[hook] = fields.choice(hook, f"{label} is hooked at", choices, default=usual)
        if form.said[hook] == TYPED:
            point = fields.point(f"{hook}_at", f"{label}, its hook", most=FARTHEST, required=True)
            form.typed[f"{hook}_at"] = fields.raw(f"{hook}_at")
            for axis, one in zip(AXES, point or (), strict=bool(point)):
                doubt = tool.doubt(one.value) if one.doubt is None else one.doubt
                form.numbers[f"{hook}_{axis}"] = [one.value, doubt]
    form.said["side"] = fields.choice("side", LABELS["side"], ("", *SIDES), default="")


def _words(fields: Fields, form: PoseForm) -> None:
    form.instrument = "angle_eye"
    form.said["level"] = fields.choice("level", LABELS["level"], list(Level), default=Level.FORWARD)
    form.said["tilt"] = fields.choice("tilt", LABELS["tilt"], list(Tilt), default=Tilt.LEVEL)
    form.numbers["doubt"] = [instrument(form.instrument).doubt(0.0), 0.0]


def _gauge(fields: Fields, form: PoseForm) -> None:
    form.instrument = "angle_gauge"
    tool = instrument(form.instrument)
    for name, most, accepts in (
        ("heading", 180.0, "an angle from -180° to 180°: 90 is to the left, -90 to the right, 180 rearward"),
        ("dip", 90.0, "an angle from -90° to 90°: 90 is straight down, -30 is 30° above level"),
    ):
        read = fields.quantity(
            name, LABELS[name], Kind.angle, unit="°", required=True, least=-radians(most) - 1e-9,
            most=radians(most) + 1e-9, accepts=accepts,
        )  # fmt: skip
        _keep(fields, form, name, read, tool)


@dataclass(frozen=True, slots=True)
class DatumForm:
    version: int | None
    words: str


def datum_form(typed: Mapping[str, str], *, stands: bool) -> DatumForm:
    """`stands`: there is one already, so that an edit names its version. Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version() if stands else None
    form = DatumForm(version, fields.text("words", LABELS["words"], most=200, required=True))
    fields.done()
    return form


def standing(typed: Mapping[str, str], is_withdrawn: bool) -> bool:
    """Whether the reading is to be withdrawn; the opposite of what stands where not said. Raises BadInput."""
    fields = Fields(typed)
    usual = "standing" if is_withdrawn else "withdrawn"
    wish = fields.choice("to", "The reading", ("withdrawn", "standing"), default=usual)
    fields.done()
    return wish == "withdrawn"
