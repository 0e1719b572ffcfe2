"""The plan of a run: the ordered pieces between two ports, in flow direction, as frozen values.

Sizes are estimates (value and standard uncertainty), SI, by name; a size that nobody measured or typed is
absent from the mapping. Every size has a variable name (`piece.7.bore`), so that one reading stays one
variable however often it is used.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from server.core.measure.estimate import Estimate


class PieceKind(StrEnum):
    TUBE = "tube"
    BEND = "bend"
    COUPLER = "coupler"
    HOSE_ELBOW = "hose elbow"
    REDUCER = "reducer"
    HOSE = "hose"
    FLEX = "flex"
    FLANGE = "flange"
    METER = "air meter"
    FILTER = "air filter"
    SALVAGED = "salvaged pipe"


HOSES = frozenset({PieceKind.COUPLER, PieceKind.HOSE_ELBOW, PieceKind.HOSE})
"""Kinds sold by their bore that slide over a spigot. A reducer is one too where its material is a rubber."""


class EndForm(StrEnum):
    PLAIN = "plain"
    BEAD = "bead"
    BARB = "barb"
    CUFF = "cuff"
    """The straight end of a hose or hose elbow, which takes a spigot."""
    FLANGE = "flange"
    V_BAND = "V-band"
    THREAD = "thread"
    WELD = "weld"


class JointKind(StrEnum):
    HOSE_AND_CLAMP = "hose and clamp"
    WELD = "weld"
    V_BAND = "V-band"
    FLANGE = "flange and gasket"
    THREAD = "thread"


class Clamp(StrEnum):
    T_BOLT = "T-bolt"
    LINED_WORM = "lined worm drive"
    BARE_WORM = "bare worm drive"
    CONSTANT_TENSION = "constant tension"
    NONE = ""


class Screw(StrEnum):
    """Where a clamp's screw is turned to, as somebody saw it; the value is the label."""

    NOT_SAID = ""
    REACHED = "a tool reaches it"
    HOSE = "against a hose"
    UNREACHED = "no tool reaches it"


class Fixing(StrEnum):
    """How a piece takes a side port."""

    WELDED = "welded"
    MOULDED = "moulded"
    NIPPLE = "bulkhead nipple"


class Stretch(StrEnum):
    """Where on a run a side port must stand."""

    ANYWHERE = "anywhere"
    BEFORE_METER = "before the air meter"
    AFTER_METER = "between air meter and compressor"
    BEFORE_THROTTLE = "between compressor and throttle"
    AFTER_COOLER = "between cooler and throttle"


class Frame(StrEnum):
    """What a port moves with; only movement between different frames counts."""

    ENGINE = "engine"
    BODY = "body"
    SUSPENSION = "suspension and steering"
    NOT_SAID = ""


class Place(StrEnum):
    """Which subsystem a run is, for the rules that apply to it."""

    INTAKE = "intake"
    CHARGE_PIPE = "charge pipe"
    COOLER_PIPE = "cooler pipe"
    DOWNPIPE = "downpipe"
    EXHAUST = "exhaust"
    OIL_FEED = "oil feed"
    OIL_DRAIN = "oil drain"
    COOLANT = "coolant"
    WASTEGATE = "wastegate and boost control"
    BYPASS = "bypass valve return"
    BREATHER = "breather"
    HEATER = "heater hoses"
    SIGNAL = "vacuum and signal lines"
    FUEL = "fuel supply"
    SHIELDING = "heat shielding"
    MANAGEMENT = "engine management"
    CLUTCH = "clutch and plugs"
    INSPECTION = "inspection and insurance"
    TURBO = "turbocharger"
    OTHER = "other"


WITHOUT_RUN = frozenset({Place.SHIELDING, Place.MANAGEMENT, Place.CLUTCH, Place.INSPECTION, Place.TURBO})
"""Subsystems that are work and parts alone: no run of pieces is designed for them."""


class Origin(StrEnum):
    """Where a piece comes from."""

    NEW = "new"
    """To be bought."""
    IN_GARAGE = "in the garage"
    SALVAGED = "salvaged"
    BORROWED = "borrowed"
    """Of another model, to be tried on."""
    MOCK_UP = "mock-up"
    """Card, wire or an old hose offered up; stands in until a real piece is drawn."""


class Offered(StrEnum):
    """What offering a piece up at the car showed."""

    NOT_YET = ""
    FITS = "fits"
    TOUCHES = "touches"
    SHORT = "short"


RUBBERS = frozenset(
    {"silicone", "lined silicone", "fluorosilicone lined", "NBR", "FKM", "EPDM", "PTFE", "rubber"}
)
"""Materials of hoses and hose-like reducers."""


@dataclass(frozen=True, slots=True)
class PortPlan:
    """A port as a run sees it. Sizes: `bore`, `outside_diameter`, `wall`, `length` (of the spigot) [m]."""

    id: int
    name: str
    end_form: EndForm
    stretch: Stretch = Stretch.ANYWHERE
    medium: str = "air"
    material: str = ""
    sizes: Mapping[str, Estimate] = field(default_factory=dict)
    frame: str = ""
    """What the port moves with: "engine", "body", "suspension and steering"; empty where not stated."""
    is_meter: bool = False
    """The air meter itself stands at this port."""


@dataclass(frozen=True, slots=True)
class BungPlan:
    """A side port on a piece. `at` from the piece's inlet face along the centre line [m]; `clock` [rad]."""

    id: int
    name: str
    port_id: int | None
    fixing: Fixing
    at: float
    bore: float
    clock: float = 0.0


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn of a pipe after its first bend. roll: of its plane from that of the turn before it, right-handed
    along the flow [rad]; angle [rad]; radius of the centre line [m], 0 for a mitre; straight: after it [m].
    """

    roll: float
    angle: float
    radius: float
    straight: float

    @property
    def is_mitre(self) -> bool:
        """Sawn and welded: a corner without an arc."""
        return self.radius == 0.0

    @property
    def length(self) -> float:
        """Along the centre line, arc and straight [m]. Source: geometry."""
        return self.radius * self.angle + self.straight


@dataclass(frozen=True, slots=True)
class PiecePlan:
    """One piece. Sizes [m, rad]: `outside_diameter`, `wall`, `bore`, and for the outlet where it differs
    `outside_diameter_out`, `bore_out`; `length` (of a bend: the leg before the arc), `length_out` (the leg
    after it), `bend_angle`, `bend_radius`. `roll` turns the bend's plane from the previous bend's [rad].
    `rated_pressure` is a hose's working pressure, gauge [Pa], at `rated_temperature` [K]. A flex also has
    `travel`, by how much it may be pushed together or drawn out [m]; a hot piece may have `wrap`, the
    thickness of the wrap round it [m]. `ratings`: a hose's table by its maker, temperature [K] and working
    pressure, gauge [Pa]. `liner`: its liner, none, downstream or
    upstream, empty where not said; `supported`: what comes after it is held. `tried`: of a piece linked to a
    borrowed part: not tried, fits, does not. `part_id`: the part it is linked to by hand. `cut_from_id`: the
    piece it was cut off, `whole_length` [m] of that one as bought. `turns`: what comes after its legs, along
    the flow: further bends, and the mitre to the next piece where the outlet is sawn at a slant.
    """

    id: int
    number: int
    kind: PieceKind
    name: str
    material: str
    sizes: Mapping[str, Estimate] = field(default_factory=dict)
    inlet_end: EndForm = EndForm.PLAIN
    outlet_end: EndForm = EndForm.PLAIN
    roll: float = 0.0
    rated_pressure: float | None = None
    rated_temperature: float | None = None
    reinforced: bool = False
    bungs: tuple[BungPlan, ...] = ()
    origin: Origin = Origin.NEW
    offered: Offered = Offered.NOT_YET
    offered_note: str = ""
    liner: str = ""
    supported: bool = False
    tried: str = ""
    part_id: int | None = None
    cut_from_id: int | None = None
    whole_length: float | None = None
    ratings: tuple[tuple[float, float], ...] = ()
    turns: tuple[Turn, ...] = ()

    @property
    def is_hose(self) -> bool:
        """Slides over a spigot and is held by clamps."""
        return self.kind in HOSES or (self.kind is PieceKind.REDUCER and self.material in RUBBERS)

    @property
    def has_arc(self) -> bool:
        """Turns the flow: a bend or elbow, or a salvaged pipe with a bend in it."""
        bent = self.kind is PieceKind.SALVAGED and "bend_angle" in self.sizes
        return bent or self.kind in {PieceKind.BEND, PieceKind.HOSE_ELBOW}

    @property
    def is_straight(self) -> bool:
        """Nothing on it turns the flow, no mitre at its outlet either."""
        return not self.has_arc and not self.turns

    @property
    def turned_length(self) -> float:
        """Of what comes after its legs, along the centre line [m]."""
        return sum(turn.length for turn in self.turns)


@dataclass(frozen=True, slots=True)
class JointPlan:
    """What holds two neighbours.

    Sizes: `clamp_least`, `clamp_most`, `overlap` [m]; `holds` [N] with its origin. Of the joint that stood
    here before: `old_diameter`, outside, of its tube [m]; `old_pressure`, the highest it held, gauge [Pa].
    """

    id: int
    kind: JointKind
    clamp: Clamp = Clamp.NONE
    sizes: Mapping[str, Estimate] = field(default_factory=dict)
    holds_origin: str = ""
    bracket: bool = False
    filler: str = ""
    """Welds: the filler metal, empty where not said."""
    screw: Screw = Screw.NOT_SAID
    screw_at: str = ""
    """Where the clamp's screw stands by the clock, and which tool reaches it."""


class What(StrEnum):
    """What stands near a run; the value is the label."""

    BRAKE_LINE = "brake line"
    FUEL_LINE = "fuel line"
    CLUTCH_LINE = "clutch line"
    SERVO_HOSE = "brake servo hose"
    STEERING = "steering shaft or rack"
    SHAFT = "turning shaft, belt or fan"
    LOOM = "wiring loom"
    HOSE = "hose"
    FLOOR = "floor or carpet"
    BODY = "body panel"
    BONNET = "bonnet"
    MOUNT = "engine or gearbox mount"
    STARTER = "starter motor"
    SUSPENSION = "suspension arm"
    GROUND = "ground"
    TURBINE = "turbine housing"
    MANIFOLD = "exhaust manifold"
    EXHAUST = "downpipe or exhaust"
    OTHER = "something else"


class Protection(StrEnum):
    """What stands between a hot pipe and a neighbour of it, or a run and what is hot beside it; as shown."""

    NONE = "nothing"
    SHIELD = "bright shield"
    SLEEVE = "foil-faced sleeve"


class Stood(StrEnum):
    """How the car stood as a gap was measured."""

    ON_STANDS = "on stands"
    AT_RIDE_HEIGHT = "at ride height"
    NOT_SAID = ""


class Warmth(StrEnum):
    """How the engine was as a gap was measured."""

    COLD = "cold"
    HOT = "hot"
    NOT_SAID = ""


@dataclass(frozen=True, slots=True)
class NeighbourPlan:
    """Something that stands near a run.

    piece_id: what it stands beside, None where that piece is gone. frame: what it moves with, empty where not
    said. material: what of it heat harms first. Sizes [m]: `gap`, clear, at rest; `moves`, how far it comes
    towards the run at most; `width`, across, as the pipe sees it; `asked`, what has to be left of the gap
    where that was said of it. An id below zero is a keep-out's, reckoned from where the run lies in the car.
    """

    id: int
    what: What
    name: str
    piece_id: int | None
    frame: str = ""
    material: str = ""
    protection: Protection = Protection.NONE
    stood: Stood = Stood.NOT_SAID
    warmth: Warmth = Warmth.NOT_SAID
    sizes: Mapping[str, Estimate] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RunPlan:
    """A whole run, one joint more than pieces: `joints[0]` at the start, `joints[k]` after `pieces[k-1]`.

    `side_ports` are the ports that must find a place on this run. `neighbours` stand near it; `looked_round`:
    there are no others.
    """

    place: Place
    start: PortPlan | None
    end: PortPlan | None
    pieces: tuple[PiecePlan, ...]
    joints: tuple[JointPlan, ...]
    side_ports: tuple[PortPlan, ...] = ()
    meter_rescaled: bool = False
    neighbours: tuple[NeighbourPlan, ...] = ()
    looked_round: bool = False


def variable(owner: str, number: int, size: str) -> str:
    """The name of a size as a variable: `variable("piece", 7, "bore")` is `piece.7.bore`."""
    return f"{owner}.{number}.{size}"


def variables(plan: RunPlan) -> dict[str, Estimate]:
    """Every size of a run by its variable name [SI]."""
    ports = [port for port in (plan.start, plan.end, *plan.side_ports) if port is not None]
    owners: tuple[tuple[str, Sequence[PortPlan | PiecePlan | JointPlan | NeighbourPlan]], ...] = (
        ("port", ports),
        ("piece", plan.pieces),
        ("joint", plan.joints),
        ("neighbour", plan.neighbours),
    )
    return {
        f"{owner}.{one.id}.{size}": value
        for owner, things in owners
        for one in things
        for size, value in one.sizes.items()
    }
