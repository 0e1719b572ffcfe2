"""A run with one set of values: sizes by variable name, and what follows from them."""

from collections.abc import Callable, Hashable, Mapping
from functools import reduce
from typing import Any, TypeVar

from server.core.air.demand import EngineSheet
from server.core.checks import figures
from server.core.checks.case import HOT_PLACES, Case, EngineState
from server.core.checks.layout import End, Joint, Layout, lay_out
from server.core.checks.limits import LIMITS
from server.core.checks.missing import NotMeasured
from server.core.checks.names import ask_for
from server.core.measure.many import Floats, Marks, greatest, least, many
from server.core.phrase import Phrase
from server.core.tube.run import PieceKind, PiecePlan, Place, PortPlan, variable

Kept = TypeVar("Kept")


class Facts:
    """One set of values of a case, best estimates or perturbed. Everything derived is found once and kept.

    Reading a size that nobody measured or typed raises `NotMeasured`, which says what to do about it.
    """

    def __init__(
        self,
        case: Case,
        values: Mapping[str, float],
        best: "Facts | None" = None,
        layout: Layout | None = None,
        moved: frozenset[str] | None = None,
    ) -> None:
        """case: what is checked. values: SI by variable name. best: the facts at the best estimates, None
        where these are they. What rests on values that did not move is taken from them. layout: of the case,
        and moved: names of the values that differ from the best estimates, where they are known.
        """
        self.case = case
        self.plan = case.plan
        self.values = _Recorded(values) if best is None else values
        self.best: Facts = best if best is not None else self
        self.layout: Layout = best.layout if best is not None else layout or lay_out(case.plan)
        self.part_of: tuple[Facts, Marks] | None = None
        """The facts of more draws that these are some of, and which of them."""
        if moved is None:
            moved = frozenset() if best is None else _moved(values, best.values)
        self.moved = moved
        self._kept: dict[Hashable, tuple[Any, frozenset[str]]] = {}
        self._moved_owners = frozenset(name.rpartition(".")[0] for name in self.moved)

    @classmethod
    def at_best(cls, case: Case) -> "Facts":
        """The facts at the best estimates."""
        return cls(case, {name: size.value for name, size in case.variables().items()})

    def in_draws(self, drawn: Mapping[str, Floats]) -> "Facts":
        """The facts of many draws at once: these, the values of some variables taken from every draw [SI]."""
        values = {**self.values, **{name: many(some) for name, some in drawn.items()}}
        return Facts(self.case, values, self, moved=frozenset(drawn))

    def otherwise(self, read: Mapping[str, float]) -> "Facts":
        """The facts where some readings came out otherwise [SI], as the best estimates then.

        What was found here without asking for those is as it was.
        """
        other = Facts(self.case, {**self.values, **read}, layout=self.layout)
        other._kept = {name: kept for name, kept in self._kept.items() if kept[1].isdisjoint(read)}
        return other

    def part(self, meets: Marks) -> "Facts":
        """The facts of some of these draws."""
        drawn = {name: self.values[name][meets] for name in self.moved}  # type: ignore[index]
        some = Facts(self.case, {**self.values, **drawn}, self.best, moved=self.moved)
        some.part_of = (self, meets)
        return some

    def kept(self, name: Hashable, make: Callable[[], Kept]) -> Kept:
        """What `make` gives, made once for these facts and kept under a name."""
        known = self._kept.get(name)
        if known is None:
            known = self._kept[name] = self.recorded(make)
        elif isinstance(self.values, _Recorded):
            self.values.asked |= known[1]
        kept: Kept = known[0]
        return kept

    def has_kept(self, name: Hashable) -> bool:
        """Whether something is kept under a name."""
        return name in self._kept

    def recorded(self, make: Callable[[], Kept]) -> tuple[Kept, frozenset[str]]:
        """What `make` gives, with the variables that it rests on; none are told but at the best estimates."""
        values = self.values
        if not isinstance(values, _Recorded):
            return make(), frozenset()
        before, values.asked = values.asked, set()
        try:
            found = make()
        finally:
            asked, values.asked = values.asked, before
            before |= asked
        return found, frozenset(asked)

    def limit(self, key: str) -> float:
        """A limit by its key, as changed for this build or the usual one [SI]."""
        return self.case.limits.get(key, LIMITS[key].default)

    def size(self, owner: str, number: int, name: str) -> float:
        """A size [SI]. Raises NotMeasured where it is missing."""
        found = self.size_or_none(owner, number, name)
        if found is None:
            raise self.missing(variable(owner, number, name))
        return found

    def size_or_none(self, owner: str, number: int, name: str) -> float | None:
        """A size [SI], or None where it is missing."""
        return self.values.get(f"{owner}.{number}.{name}")

    def figure(self, key: str) -> float:
        """A number of what is fitted [SI]. Raises NotMeasured where nobody typed it."""
        name = figures.figure(key).variable
        found = self.values.get(name)
        if found is None:
            raise self.missing(name)
        return found

    def figure_or_none(self, key: str) -> float | None:
        """A number of what is fitted [SI], or None where nobody typed it."""
        return self.values.get(figures.figure(key).variable)

    def said(self, key: str) -> str:
        """A choice about what is fitted. Raises NotMeasured where nobody made it."""
        found = self.case.figures.said.get(key)
        if not found:
            raise self.missing(figures.figure(key).variable)
        return found

    def table(self, key: str) -> figures.Table:
        """A table of what is fitted [SI]. Raises NotMeasured where nobody typed it."""
        found = self.case.figures.tables.get(key)
        if not found:
            raise self.missing(figures.figure(key).variable)
        return found

    def missing(self, name: str) -> NotMeasured:
        """The exception that asks for this variable."""
        return NotMeasured(ask_for(self.plan, name), name)

    def bore(self, end: End) -> float:
        """Bore at an end [m]: as given, or outside diameter less two walls.

        An outlet is as the inlet unless given.

        Raises NotMeasured where it can't be told, or comes out at nothing.
        """
        key = (end.owner_kind, end.owner.id, end.at_outlet)
        if self.best is not self and f"{key[0]}.{key[1]}" not in self._moved_owners:
            return self.best.bore(end)
        return self.kept(key, lambda: self._find_bore(end))

    def _find_bore(self, end: End) -> float:
        owner, number = end.owner_kind, end.owner.id
        found = self._bore(owner, number, "_out") if end.at_outlet else None
        if found is None and end.at_outlet:
            if _narrows(end):
                raise self.missing(variable(owner, number, "bore_out"))
            return self.bore(End(end.owner, False))
        if found is None:
            found = self._bore(owner, number, "")
        if found is None:
            has_outside = self.size_or_none(owner, number, "outside_diameter") is not None
            raise self.missing(variable(owner, number, "wall" if has_outside else "bore"))
        if found <= 0.0:
            text = "The bore of {end} comes out at nothing: look at its outside diameter and wall."
            raise NotMeasured(Phrase(text, {"end": end.label}))
        return found

    def bore_variable(self, end: End) -> str:
        """The variable to change for another bore at this end.

        The bore where it is given, else the outside.
        """
        owner, number = end.owner_kind, end.owner.id
        suffixes = ("_out", "") if end.at_outlet else ("",)
        for suffix in suffixes:
            for name in ("bore", "outside_diameter"):
                if self.size_or_none(owner, number, name + suffix) is not None:
                    return variable(owner, number, name + suffix)
        return variable(owner, number, "bore")

    def outside(self, end: End) -> float:
        """Outside diameter at an end [m]: as given, or bore plus two walls."""
        owner, number = end.owner_kind, end.owner.id
        if end.at_outlet:
            found = self._outside(owner, number, "_out")
            if found is not None:
                return found
            if _narrows(end):
                raise self.missing(variable(owner, number, "outside_diameter_out"))
        found = self._outside(owner, number, "")
        if found is None:
            raise self.missing(variable(owner, number, "outside_diameter"))
        return found

    def wall(self, end: End) -> float:
        """Wall at an end [m]: as given, or half of outside diameter less bore. Raises NotMeasured."""
        found = self.wall_or_none(end)
        if found is None:
            raise self.missing(variable(end.owner_kind, end.owner.id, "wall"))
        return found

    def wall_or_none(self, end: End) -> float | None:
        """Wall at an end [m], or None where nothing tells it."""
        return self._wall(end.owner_kind, end.owner.id)

    def _wall(self, owner: str, number: int) -> float | None:
        wall = self.size_or_none(owner, number, "wall")
        if wall is not None:
            return wall
        outside = self.size_or_none(owner, number, "outside_diameter")
        bore = self.size_or_none(owner, number, "bore")
        return None if outside is None or bore is None else 0.5 * (outside - bore)

    def wall_or_usual(self, *ends: End | None) -> float:
        """The thinnest known wall of the ends that are not hoses, or the usual one [m]."""
        walls = [self.wall_or_none(end) for end in ends if end is not None and not end.is_hose]
        known = [wall for wall in walls if wall is not None]
        return reduce(least, known) if known else self.limit("wall.usual")

    def ends(self, piece: PiecePlan) -> tuple[End, End]:
        """Inlet and outlet of a piece."""
        return End(piece, False), End(piece, True)

    def narrower_end(self, piece: PiecePlan) -> End:
        """The end of a piece with the smaller bore, by the best estimates.

        Which end it is is no matter of chance.
        """
        best = self.best

        def find() -> End:
            inlet, outlet = best.ends(piece)
            return outlet if best.bore(outlet) < best.bore(inlet) else inlet

        return best.kept(("narrower end", piece.id), find)

    def overlap(self, joint: Joint) -> float:
        """How far a spigot stands in its hose [m]: as typed, or the least overlap where none is typed."""
        typed = self.size_or_none("joint", joint.plan.id, "overlap")
        return self.limit("overlap.least") if typed is None else typed

    def length_along(self, piece: PiecePlan) -> float:
        """Length of a piece along its centre line, arc included [m]. Source: geometry."""
        length = self.size("piece", piece.id, "length") + piece.turned_length
        if not piece.has_arc:
            return length
        angle = self.size("piece", piece.id, "bend_angle")
        radius = self.size("piece", piece.id, "bend_radius")
        return length + self.size("piece", piece.id, "length_out") + radius * angle

    def leg_or_none(self, piece: PiecePlan, *, at_outlet: bool) -> float | None:
        """Straight at an end of a piece, up to where it turns [m], or None where it is not known."""
        if at_outlet and piece.turns:
            return piece.turns[-1].straight
        name = "length_out" if at_outlet and piece.has_arc else "length"
        return self.size_or_none("piece", piece.id, name)

    def free_length(self, piece: PiecePlan) -> float:
        """Length of a hose between the spigots inside it, of any other piece its whole length [m]."""
        length = self.length_along(piece)
        if piece.is_hose:
            length -= sum(self.overlap(joint) for joint in self.layout.clamped_joints(piece))
        return greatest(length, 0.0)

    @property
    def engine(self) -> EngineState:
        """The engine at its peak. Raises NotMeasured where there is no engine sheet."""
        engine = self.case.engine
        if engine is None:
            raise NotMeasured(Phrase("Fill in the engine sheet."))
        if self.best is not self and not self._moved_owners & {"engine"}:
            return self.best.engine
        return self.kept("engine", lambda: engine.state(self.values))

    @property
    def sheet(self) -> EngineSheet:
        """The engine sheet as typed. Raises NotMeasured where there is none."""
        if self.case.engine is None:
            raise NotMeasured(Phrase("Fill in the engine sheet."))
        return self.case.engine.sheet

    def is_as_best(self, piece: PiecePlan) -> bool:
        """Whether neither the piece nor its joints moved from the best estimates."""
        if self.best is self:
            return False
        joints = (self.layout.joint_before(piece), self.layout.joint_after(piece))
        owners = {f"piece.{piece.id}", *(f"joint.{joint.plan.id}" for joint in joints)}
        return self._moved_owners.isdisjoint(owners)

    @property
    def allowed_loss(self) -> float:
        """What the run may lose at the peak [Pa], by the rule for its place."""
        if self.plan.place is Place.INTAKE:
            return self.limit("suction.most") - self.engine.filter_loss
        if self.plan.place in HOT_PLACES:
            return self.limit("back.most") - self.pressure_behind - self.pressure_before
        return self.limit("charge.loss_share") * greatest(self.engine.boost, 0.0)

    @property
    def pressure_behind(self) -> float:
        """Behind a hot run, above the air outside [Pa]: what the rest of the exhaust takes."""
        rest = "downpipe" if self.plan.place is Place.DOWNPIPE else "exhaust"
        return self.limit(f"back.behind_{rest}")

    @property
    def pressure_before(self) -> float:
        """What a downpipe takes that is not in this run [Pa]; none where the run is the downpipe itself."""
        return 0.0 if self.plan.place is Place.DOWNPIPE else self.limit("back.downpipe")

    @property
    def meters(self) -> tuple[PiecePlan, ...]:
        """The air meters that are pieces of this run."""
        return tuple(piece for piece in self.plan.pieces if piece.kind is PieceKind.METER)

    def _bore(self, owner: str, number: int, suffix: str) -> float | None:
        bore = self.size_or_none(owner, number, "bore" + suffix)
        if bore is not None:
            return bore
        outside = self.size_or_none(owner, number, "outside_diameter" + suffix)
        wall = self._wall(owner, number)
        return None if outside is None or wall is None else outside - 2.0 * wall

    def _outside(self, owner: str, number: int, suffix: str) -> float | None:
        outside = self.size_or_none(owner, number, "outside_diameter" + suffix)
        if outside is not None:
            return outside
        bore = self.size_or_none(owner, number, "bore" + suffix)
        wall = self._wall(owner, number)
        return None if bore is None or wall is None else bore + 2.0 * wall


def _narrows(end: End) -> bool:
    """Whether an outlet can't be taken to be as the inlet."""
    return not isinstance(end.owner, PortPlan) and end.owner.kind is PieceKind.REDUCER


class _Recorded(dict[str, float]):
    """Values that remember which of them were asked for."""

    def __init__(self, values: Mapping[str, float]) -> None:
        super().__init__(values)
        self.asked: set[str] = set()

    def __getitem__(self, name: str) -> float:
        self.asked.add(name)
        return super().__getitem__(name)

    def get(self, name: str, default: Any = None) -> Any:
        """As of a dict, remembered."""
        self.asked.add(name)
        return super().get(name, default)


def _moved(values: Mapping[str, float], best: Mapping[str, float]) -> frozenset[str]:
    """Those that differ from the best estimates."""
    return frozenset(name for name, value in values.items() if value != best[name])
