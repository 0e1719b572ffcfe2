"""The builder's hand: types into the forms that the pages show, and remembers the number each row got."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from pathlib import Path

from sqlmodel import Session

from server.features.builds import service as builds
from server.features.designing import service as designing
from server.features.neighbouring import service as neighbouring
from server.features.ports import service as ports
from server.features.runs import service as runs
from server.features.runs import store as run_store
from server.features.subsystems import service as subsystems
from server.features.trimming import service as trimming

EVENING = "20:15"
SATURDAY = 5
"""Of `datetime.weekday`."""
LEAST_DAYS_TO_VISIT = 8

Typed = dict[str, str]


def typed(**fields: str) -> Typed:
    """The fields of one form, as text."""
    return fields


@dataclass(frozen=True, slots=True)
class Laid:
    """One piece of a run as typed: its own fields, those of the joint after it, and of its side ports.

    part: the part of the list that it is made of, where its own sizes don't tell.
    """

    piece: Typed
    joint: Typed
    side_ports: tuple[tuple[str, Typed], ...] = ()
    part: str = ""


@dataclass(slots=True)
class Hand:
    """Numbers of rows by the name they go by: readings by port and dimension, notes by their day.

    `now`: the clock's moment, with its offset from UTC; `photos`: the folder that pictures are kept in.
    """

    session: Session
    now: datetime
    photos: Path
    build_id: int = 0
    subsystems: dict[str, int] = field(default_factory=dict)
    ports: dict[str, int] = field(default_factory=dict)
    parts: dict[str, int] = field(default_factory=dict)
    tasks: dict[str, int] = field(default_factory=dict)
    readings: dict[tuple[str, str], int] = field(default_factory=dict)
    notes: dict[int, int] = field(default_factory=dict)

    def moment(self, days: int, at: str = EVENING) -> datetime:
        """A time of day so many days from today (before it where negative)."""
        day = self.now.date() + timedelta(days=days)
        return datetime.combine(day, time.fromisoformat(at), self.now.tzinfo)

    def day(self, days: int) -> str:
        """A date as a form takes it."""
        return self.moment(days).date().isoformat()

    @property
    def visit_in(self) -> int:
        """Days to the Saturday on which the fabricator comes."""
        soonest = self.now + timedelta(days=LEAST_DAYS_TO_VISIT)
        return LEAST_DAYS_TO_VISIT + (SATURDAY - soonest.weekday()) % 7

    def written(self) -> None:
        """What was worked out from the build before no longer holds; the pages do this after every form."""
        builds.after_write(self.session, {"build_id": self.build_id})

    def subsystem(self, kind: str, name: str = "") -> None:
        number = subsystems.add_subsystem(self.session, self.build_id, typed(kind=kind, name=name))
        self.subsystems[name or kind.capitalize()] = number

    def port(self, name: str, subsystem: str = "", **fields: str) -> None:
        fields |= {"name": name}
        if subsystem:
            fields |= {"subsystem_id": str(self.subsystems[subsystem])}
        self.ports[name] = ports.add_port(self.session, self.build_id, fields)

    def reading(self, days: int, port: str, dimension: str, text: str, instrument: str, **more: str) -> None:
        """What was read on a port so many days from today, in the words and units of the moment."""
        fields = typed(dimension=dimension, reading=text, instrument=instrument, **more)
        taken_at = self.moment(days)
        self.readings[port, dimension] = ports.add_reading(
            self.session, self.build_id, self.ports[port], fields, taken_at, "builder"
        )

    def design(
        self,
        subsystem: str,
        name: str,
        start: str,
        end: str,
        start_joint: Typed,
        *run: Laid,
        pattern: bool = False,
    ) -> int:
        """A design, or an old part as a pattern, with its whole run from port to port; the number it got."""
        fields = typed(name=name, start_port_id=str(self.ports[start]), end_port_id=str(self.ports[end]))
        fields |= {"pattern": "on"} if pattern else {}
        number = designing.add_design(self.session, self.build_id, self.subsystems[subsystem], fields)
        laid: list[tuple[int | None, Typed]] = [(None, start_joint)]
        for one in run:
            piece = one.piece | (typed(part_id=str(self.parts[one.part])) if one.part else {})
            piece_id = runs.add_piece(self.session, number, "", piece, list(self.parts.values()))
            laid.append((piece_id, one.joint))
            for port, place in one.side_ports:
                self._side_port(number, piece_id, port, place)
        rows = run_store.runs_of(self.session, [number])[number]
        joints = {joint.piece_id: joint.key for joint in rows.joints}
        for after, joint in laid:
            runs.edit_joint(self.session, number, joints[after], {"version": "1", **joint})
        return number

    def near(self, design_id: int, piece: str, what: str, **fields: str) -> None:
        """Something that stands near a run, beside the piece of that name; measured cold unless said."""
        beside = typed(piece_id=str(self.piece(design_id, piece)), what=what)
        neighbouring.add_neighbour(
            self.session, self.build_id, design_id, typed(warmth="cold") | beside | fields
        )

    def design_from(self, source: int, subsystem: str, name: str) -> int:
        """A design that begins as a copy of another; the number it got."""
        fields = typed(name=name, start_from=str(source))
        return designing.add_design(self.session, self.build_id, self.subsystems[subsystem], fields)

    def lay(self, design_id: int, after: str, piece: Typed) -> None:
        """One more piece, at the `start` of a run or at its end."""
        runs.add_piece(self.session, design_id, after, piece, list(self.parts.values()))

    def piece(self, design_id: int, name: str) -> int:
        """The number of the piece of that name in a run."""
        run = run_store.runs_of(self.session, [design_id])[design_id]
        return next(piece.key for piece in run.pieces if piece.name == name)

    def join(self, design_id: int, joints: Mapping[str, Typed]) -> None:
        """Joints of a run by the name of the piece before each; the first one by `start`."""
        run = run_store.runs_of(self.session, [design_id])[design_id]
        names: dict[int | None, str] = {None: "start"} | {piece.key: piece.name for piece in run.pieces}
        for joint in run.joints:
            if names[joint.piece_id] in joints:
                fields = {"version": str(joint.version), **joints[names[joint.piece_id]]}
                runs.edit_joint(self.session, design_id, joint.key, fields)

    def shorten(self, design_id: int, piece: str, days: int, **cut: str) -> None:
        """Take a middle length out of the piece of that name, which nobody touched before."""
        number = self.piece(design_id, piece)
        fields = {"version": "1", **cut}
        designing.shorten_piece(self.session, self.build_id, design_id, number, fields, self.moment(days))

    def trim(
        self, design_id: int, piece: str, days: int, *, read: str, taken_off: str = "", note: str = ""
    ) -> None:
        """Offer a piece up, read by a rule how much too long it is, and take something off it, if any."""
        ids = (self.build_id, design_id, self.piece(design_id, piece))
        reading = typed(excess=read, read_with="rule", note=note)
        trim_id = trimming.offer_up(self.session, ids, reading, self.moment(days), "builder")
        if taken_off:
            taken = typed(version="1", taken_off=taken_off)
            trimming.take_off(self.session, ids, trim_id, taken, "builder")

    def _side_port(self, design_id: int, piece_id: int, port: str, place: Typed) -> None:
        names = designing.side_port_names(self.session, self.build_id, design_id)
        fields = {"port_id": str(self.ports[port]), **place}
        runs.add_bung(self.session, design_id, piece_id, names, fields)
