"""What the builder types about a port, and a reading taken on it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from server.core.measure.conditions import MockUpOutcome, SeenFrom, Stance, Warmth
from server.core.measure.instruments import instrument
from server.core.measure.opening import DIMENSIONS, LIMITS, instruments_of, own_doubt
from server.core.tube.run import EndForm, Frame, Stretch
from server.core.units import Kind, System
from server.features.ports.page import END_FORMS, LABELS, MEDIA, ROLES, SHAPES
from server.web.fields import Fields, one_of_two

USUAL_END = {
    "spigot": EndForm.PLAIN,
    "hose": EndForm.CUFF,
    "flange": EndForm.FLANGE,
    "V-band": EndForm.V_BAND,
    "hole": EndForm.PLAIN,
}
"""How a port ends where it is not said."""


@dataclass(frozen=True, slots=True)
class PortForm:
    """A port as typed; field names are those of its row."""

    name: str
    role: str
    shape: str
    end_form: str
    medium: str
    subsystem_id: int | None
    stretch: str
    material: str
    frame: str
    facing: str
    note: str


@dataclass(frozen=True, slots=True)
class PortEdit:
    version: int
    form: PortForm


def port_form(typed: Mapping[str, str], subsystem_ids: Sequence[int]) -> PortForm:
    """Raises BadInput."""
    fields = Fields(typed)
    role = fields.choice("role", LABELS["role"], ROLES, default="run end")
    shape = fields.choice("shape", LABELS["shape"], SHAPES, default="spigot")
    stretch = fields.choice("stretch", LABELS["stretch"], list(Stretch), default=Stretch.ANYWHERE)
    form = PortForm(
        name=fields.text("name", LABELS["name"], most=80, required=True),
        role=role,
        shape=shape,
        end_form=fields.choice("end_form", LABELS["end_form"], END_FORMS, default=USUAL_END[shape]),
        medium=fields.choice("medium", LABELS["medium"], MEDIA, default="air"),
        subsystem_id=fields.row_id("subsystem_id", LABELS["subsystem_id"], subsystem_ids),
        stretch=stretch if role == "side port" else Stretch.ANYWHERE,
        material=fields.text("material", LABELS["material"], most=40),
        frame=fields.choice("frame", LABELS["frame"], list(Frame), default=Frame.NOT_SAID),
        facing=fields.text("facing", LABELS["facing"], most=80),
        note=fields.text("note", LABELS["note"], most=500),
    )
    fields.done()
    return form


def port_edit(typed: Mapping[str, str], subsystem_ids: Sequence[int]) -> PortEdit:
    """Raises MissingVersion, BadInput."""
    version = Fields(typed).version()
    return PortEdit(version, port_form(typed, subsystem_ids))


@dataclass(frozen=True, slots=True)
class ReadingForm:
    """A reading as typed; field names are those of its row, `value` and `doubt` in [m]."""

    dimension: str
    typed: str
    value: float | None
    doubt: float | None
    instrument: str
    stance: str
    engine_state: str
    seen_from: str
    mock_up: str
    note: str


SORT_OF_DIMENSION = {
    "outside_diameter": "outside_diameter",
    "bore": "bore",
    "wall": "wall",
    "length": "spigot",
    "circumference": "circumference",
    "gap": "gap",
}
"""What is usual for a dimension, by its name in `plausible.USUAL`."""


SORT_AT_SIDE_PORT = {"bore": "line_bore", "outside_diameter": "line_outside"}
"""What is usual where a line joins: a signal hose is far thinner than any pipe."""


def reading_form(typed: Mapping[str, str], system: System, role: str = "run end") -> ReadingForm:
    """`role`: of the port that was measured. Raises BadInput."""
    fields = Fields(typed)
    dimension = fields.choice("dimension", "What was measured", tuple(DIMENSIONS))
    form = _mock_up(fields, system) if dimension == "mock_up" else _measured(fields, dimension, system, role)
    fields.done()
    return form


def _measured(fields: Fields, dimension: str, system: System, role: str) -> ReadingForm:
    label = DIMENSIONS[dimension].capitalize()
    unit = "mm" if system is System.metric else "in"
    sorts = SORT_OF_DIMENSION | SORT_AT_SIDE_PORT if role == "side port" else SORT_OF_DIMENSION
    least, most = LIMITS[dimension]
    accepts = f'82.5 mm, 63,5 mm, 3 1/4 in, 2.5"; from {least * 1000:g} mm to {most * 1000:g} mm'
    read = fields.quantity(
        "reading",
        label,
        Kind.length,
        unit=unit,
        required=True,
        least=least,
        most=most,
        accepts=accepts,
        sort=sorts.get(dimension, ""),
    )
    codes = [one.code for one in instruments_of(dimension)]
    code = fields.choice("instrument", "Measured with", codes, default=codes[0])
    doubt = _typed_doubt(fields, unit)
    if read is not None and doubt is None:
        doubt = read.doubt or own_doubt(dimension, code, read.value)
    asked = dimension == "gap"
    return ReadingForm(
        dimension=dimension,
        typed=fields.raw("reading"),
        value=None if read is None else read.value,
        doubt=doubt,
        instrument=code,
        stance=_condition(fields, "stance", "The car stood", Stance) if asked else "",
        engine_state=_condition(fields, "engine_state", "The engine was", Warmth) if asked else "",
        seen_from=_condition(fields, "seen_from", "Seen from", SeenFrom) if asked else "",
        mock_up="",
        note=fields.text("reading_note", "Note", most=300),
    )


def _condition(fields: Fields, name: str, label: str, words: type[StrEnum]) -> str:
    """The name of one of the conditions of a gap reading."""
    return fields.choice(name, label, list(words.__members__), default="not_stated")


def _typed_doubt(fields: Fields, unit: str) -> float | None:
    read = fields.quantity(
        "doubt",
        "Doubt",
        Kind.length,
        unit=unit,
        least=1e-6,
        most=0.1,
        accepts="0.001 to 100 mm, such as 0.1 mm or 0.004 in; left empty, the instrument's own is taken",
    )
    return None if read is None else read.value


def _mock_up(fields: Fields, system: System) -> ReadingForm:
    """What offering up a mock-up showed; the typed text is what it touches, or by how much it is short."""
    names = list(MockUpOutcome.__members__)
    outcome = MockUpOutcome[fields.choice("mock_up", "The mock-up", names, default="fits")]
    amount = None
    if outcome is MockUpOutcome.short:
        amount = fields.quantity(
            "reading",
            "Short by",
            Kind.length,
            unit="mm" if system is System.metric else "in",
            required=True,
            least=0.0005,
            most=3.0,
            accepts="0.5 mm to 3 m, such as 15 mm or 5/8 in: by how much it does not reach",
        )
    elif outcome is MockUpOutcome.touches and not fields.raw("reading"):
        fields.refuse("reading", "What it touches is missing.", "a few words, such as: brake servo hose")
    return ReadingForm(
        dimension="mock_up",
        typed=fields.text("reading", "What it touches", most=80),
        value=None if amount is None else amount.value,
        doubt=None if amount is None else amount.doubt or instrument("tape").doubt(amount.value),
        instrument="",
        stance=_condition(fields, "stance", "The car stood", Stance),
        engine_state=_condition(fields, "engine_state", "The engine was", Warmth),
        seen_from=_condition(fields, "seen_from", "Seen from", SeenFrom),
        mock_up=outcome.name,
        note=fields.text("reading_note", "Note", most=300),
    )


def withdrawal(typed: Mapping[str, str], is_withdrawn: bool) -> bool:
    """Whether the reading is to be withdrawn; the opposite of what stands where not said. Raises BadInput."""
    fields = Fields(typed)
    usual = "standing" if is_withdrawn else "withdrawn"
    wish = fields.choice("to", "The reading", ("withdrawn", "standing"), default=usual)
    fields.done()
    return wish == "withdrawn"


def removal(typed: Mapping[str, str]) -> bool:
    """Whether a port is to be set aside (`aside`) or put back (`back`). Raises BadInput."""
    return one_of_two(typed, "to", "The port", ("aside", "back"), usual="aside")


def shown_reading(typed: Mapping[str, str], reading_ids: Sequence[int]) -> int | None:
    """The reading that a photo shows; none where it shows the port. Raises BadInput."""
    fields = Fields(typed)
    reading_id = fields.row_id("shows", "It shows", reading_ids)
    fields.done()
    return reading_id


def start_of(typed: Mapping[str, str]) -> int:
    """From which port on a long list is shown; from the first where that can't be read."""
    text = typed.get("from", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
