"""What to do in the next stint: the ready tasks that fit and are worth most, in order, each with its why.

Worth is counted in points, openly: a piece of work finished is worth 1, and 1 more for each task that waits
for it (up to ten), 5 more where it sets the date (no float), 2 more where it is in hand already. What is only
begun is worth nine tenths of its share. Among choices of one worth the one with less setting up is taken,
then the shorter one. The car is raised or lowered once at the most. Source: common practice, no source; the
search is branch and bound with the fractional bound of the knapsack problem (G. B. Dantzig, Discrete-variable
extremum problems, Operations Research 5 (1957) 266), exact unless told otherwise.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from server.core.work.hours import skilled
from server.core.work.tasks import ON_STANDS, ON_WHEELS, in_order_of

FREES_AT_MOST, SETS_DATE, IN_HAND, BEGUN_SHARE = 10, 5.0, 2.0, 0.9
LEAST_GO = 15
"""Nothing is begun for less [min]."""
MOST_ASKED, NODES = 24, 4000
"""How many pieces of work are weighed, and how many choices of them are looked at."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of work that may be done: a task, or a reading to take.

    minutes: what is left of it [min]; after: ids among those offered that must be finished first, without a
    wait; frees: how many tasks wait for it; slack: how long it may be put off without putting off the end
    [min]; loud: makes noise; skill, hands: as of a task.
    """

    id: int
    minutes: int
    after: tuple[int, ...] = ()
    frees: int = 0
    slack: int = 0
    in_hand: bool = False
    splits: bool = True
    car_state: str = "any"
    hands: int = 1
    skill: str = ""
    loud: bool = False
    outside: bool = False

    @property
    def worth(self) -> float:
        """Points for finishing it [-]."""
        more = SETS_DATE * (self.slack == 0) + IN_HAND * self.in_hand
        return 1.0 + min(self.frees, FREES_AT_MOST) + more


@dataclass(frozen=True, slots=True)
class Circumstances:
    """The stint that is asked about.

    minutes: how long [min]; stands: how the car stands; raising, lowering: what that takes [min]; helpers:
    for each who is there what they are able to do; quiet: no noise; wet: nothing can be done outside.
    """

    minutes: int
    stands: str = ON_WHEELS
    raising: int = 0
    lowering: int = 0
    helpers: tuple[tuple[str, ...], ...] = ()
    quiet: bool = False
    wet: bool = False

    @property
    def setting_up(self) -> int:
        """What it takes to have the car stand otherwise [min]."""
        return self.lowering if self.stands == ON_STANDS else self.raising

    def other_way(self, piece: Piece) -> bool:
        """Whether the car must stand otherwise for it."""
        lifted = self.stands == ON_STANDS
        return piece.car_state in (ON_STANDS, ON_WHEELS) and lifted != (piece.car_state == ON_STANDS)

    def why_not(self, piece: Piece) -> str:
        """What of the circumstances stands against it, in a few words; empty where nothing does."""
        if piece.skill and not any(skilled(own, piece.skill) for own in self.helpers):
            return f"needs a helper who {piece.skill}"
        if piece.hands > 1 + len(self.helpers):
            return f"needs {piece.hands} people"
        if piece.loud and self.quiet:
            return "makes noise"
        return "is outside" if piece.outside and self.wet else ""


@dataclass(frozen=True, slots=True)
class Chosen:
    """One piece of work of the list. minutes: planned in this stint [min]; rest: left of it then [min].

    setting_up: raising or lowering the car just before it [min]; why: in plain words.
    """

    id: int
    minutes: int
    rest: int
    setting_up: int
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What to do, in order. spare: minutes left over; left_out: id and why; exact: no better one exists."""

    chosen: tuple[Chosen, ...]
    spare: int
    left_out: tuple[tuple[int, str], ...] = ()
    exact: bool = True


def suggest(pieces: Sequence[Piece], given: Circumstances) -> Suggestion:
    """What to do in a stint. The same pieces in any order give the same list.

    Errors: ValueError where a piece comes after one that is not offered. Source: the module's first.

    >>> [one.id for one in suggest([Piece(1, 30), Piece(2, 30, frees=3)], Circumstances(40)).chosen]
    [2]
    """
    against = {one.id: given.why_not(one) for one in pieces}
    order, _ = in_order_of({one.id: one.after for one in pieces})
    by_id = {one.id: one for one in pieces}
    fitting: list[Piece] = []
    for at in order:
        if not against[at] and all(any(one.id == before for one in fitting) for before in by_id[at].after):
            fitting.append(by_id[at])
    weighed = _most_worth(fitting)
    found = _best(weighed, given)
    left_out = tuple((at, why) for at, why in sorted(against.items()) if why)
    chosen = _told(found, given, by_id)
    spare = given.minutes - sum(one.minutes + one.setting_up for one in chosen)
    return Suggestion(chosen, spare, left_out, found.exact and len(weighed) == len(fitting))


def _most_worth(pieces: Sequence[Piece]) -> list[Piece]:
    """Those that are weighed: the ones worth most an hour, and what comes before them."""
    before = {one.id: {one.id, *one.after} for one in pieces}
    for one in pieces:  # in order, so that what comes before is known in full
        before[one.id].update(*(before[earlier] for earlier in one.after))
    kept: set[int] = set()
    for one in sorted(pieces, key=lambda one: (-one.worth / max(one.minutes, 1), one.id)):
        if len(kept | before[one.id]) <= MOST_ASKED:
            kept |= before[one.id]
    return [one for one in pieces if one.id in kept]


@dataclass(frozen=True, slots=True)
class _Choice:
    """Ids to finish and one to begin, for how long [min]; turned: the car is made to stand otherwise."""

    worth: float = 0.0
    used: int = 0
    done: tuple[int, ...] = ()
    begun: int | None = None
    begun_minutes: int = 0
    turned: bool = False
    exact: bool = True

    @property
    def rank(self) -> tuple[float, bool, int, tuple[int, ...]]:
        return (-round(self.worth, 9), self.turned, self.used, (*self.done, self.begun or 0))


def _best(pieces: Sequence[Piece], given: Circumstances) -> _Choice:
    """Without touching the car, or with it made to stand otherwise once."""
    stays = [one for one in pieces if not given.other_way(one)]
    allowed = {one.id for one in stays}
    stays = [one for one in stays if allowed.issuperset(one.after)]
    best = _Weighing(stays, given.minutes, given, turned=False).best
    if given.setting_up < given.minutes and len(stays) < len(pieces):
        other = _Weighing(pieces, given.minutes - given.setting_up, given, turned=True).best
        exact = best.exact and other.exact
        best = min(best, other, key=lambda one: one.rank)
        best = _Choice(best.worth, best.used, best.done, best.begun, best.begun_minutes, best.turned, exact)
    return best


class _Weighing:
    """Branch and bound over which pieces are finished; at each choice one more may be begun."""

    def __init__(self, pieces: Sequence[Piece], minutes: int, given: Circumstances, *, turned: bool) -> None:
        self.turned = turned
        self.pieces = list(pieces)
        self.worth = {one.id: one.worth for one in pieces}
        self.minutes = {one.id: one.minutes for one in pieces}
        dense = sorted(enumerate(pieces), key=lambda one: -self.worth[one[1].id] / max(one[1].minutes, 1))
        self.dense = [(at, one.id, one.minutes, self.worth[one.id], one.splits) for at, one in dense]
        self.left = NODES
        self.best = _Choice(turned=turned)
        self.behind = _behind_other_way(self.pieces, given)
        self.twin = _twins(self.pieces)
        self._look(0, minutes, 0.0, [])

    def _look(self, at: int, minutes: int, worth: float, done: list[int]) -> None:
        if self.left <= 0:
            self.best = _replaced(self.best, exact=False)
            return
        self.left -= 1
        if worth + self._bound(at, minutes, done) < self.best.worth - 1e-9:
            return
        self._keep(minutes, worth, done)
        if at == len(self.pieces):
            return
        one = self.pieces[at]
        twin = self.twin.get(one.id)
        if one.minutes <= minutes and (twin is None or twin in done) and self._may(one, done):
            done.append(one.id)
            self._look(at + 1, minutes - one.minutes, worth + self.worth[one.id], done)
            done.pop()
        self._look(at + 1, minutes, worth, done)

    def _may(self, one: Piece, done: Sequence[int]) -> bool:
        """All it comes after is done, none of it with the car otherwise where this one takes it as it is."""
        return one.id not in self.behind and all(before in done for before in one.after)

    def _bound(self, at: int, minutes: int, done: Sequence[int]) -> float:
        """No choice of what is left can be worth more."""
        found, left = 0.0, minutes
        for place, number, takes, worth, splits in self.dense:
            if number in done or (place < at and not splits):
                continue
            if takes > left:
                return found + worth * left / takes
            found, left = found + worth, left - takes
        return found

    def _keep(self, minutes: int, worth: float, done: Sequence[int]) -> None:
        used = sum(self.minutes[one] for one in done)
        self._if_better(_Choice(worth, used, tuple(sorted(done)), None, 0, self.turned))
        if minutes < LEAST_GO:
            return
        for one in self.pieces:
            if not one.splits or one.minutes <= minutes or one.id in done:
                continue
            with_it = worth + BEGUN_SHARE * self.worth[one.id] * minutes / one.minutes
            if with_it >= self.best.worth - 1e-9 and self._may(one, done):
                begun = _Choice(with_it, used + minutes, tuple(sorted(done)), one.id, minutes, self.turned)
                self._if_better(begun)

    def _if_better(self, choice: _Choice) -> None:
        if choice.rank < self.best.rank:
            self.best = _replaced(choice, exact=self.best.exact)


def _twins(pieces: Sequence[Piece]) -> dict[int, int]:
    """For each piece one like it in all but its id, looked at before it: it is finished after that one only.

    Of two such choices the one with the lower ids counts, so that nothing is lost. What others come after,
    or comes after others, has no twin.
    """
    tied = {before for one in pieces for before in one.after} | {one.id for one in pieces if one.after}
    found: dict[int, int] = {}
    last: dict[Piece, int] = {}
    for one in pieces:
        if one.id in tied:
            continue
        like = replace(one, id=0)
        if last.get(like, one.id) < one.id:
            found[one.id] = last[like]
        last[like] = one.id
    return found


def _replaced(choice: _Choice, *, exact: bool) -> _Choice:
    return _Choice(
        choice.worth, choice.used, choice.done, choice.begun, choice.begun_minutes, choice.turned, exact
    )


def _behind_other_way(pieces: Iterable[Piece], given: Circumstances) -> frozenset[int]:
    """What takes the car as it stands and comes after what takes it otherwise: it would be turned twice."""
    late: set[int] = set()
    twice: set[int] = set()
    for one in pieces:
        after_turn = any(before in late for before in one.after)
        asks = one.car_state in (ON_STANDS, ON_WHEELS)
        if given.other_way(one) or after_turn:
            late.add(one.id)
        if after_turn and asks and not given.other_way(one):
            twice.add(one.id)
    return frozenset(twice)


def _told(choice: _Choice, given: Circumstances, by_id: dict[int, Piece]) -> tuple[Chosen, ...]:
    """In order: what takes the car as it stands, then the rest; what is only begun comes last of each."""
    ids = [*choice.done, *([choice.begun] if choice.begun is not None else [])]
    late: set[int] = set()
    order, _ = in_order_of({at: [one for one in by_id[at].after if one in ids] for at in sorted(ids)})
    for at in order:
        if given.other_way(by_id[at]) or late.intersection(by_id[at].after):
            late.add(at)

    def place(at: int) -> tuple[bool, bool, bool, float, int]:
        one = by_id[at]
        return (at in late, at == choice.begun, not one.in_hand, -one.worth, at)

    told: list[Chosen] = []
    waiting = sorted(ids, key=place)
    turned = False
    while waiting:
        at = next(one for one in waiting if not set(waiting).intersection(by_id[one].after))
        waiting.remove(at)
        one = by_id[at]
        minutes = choice.begun_minutes if at == choice.begun else one.minutes
        turn = given.other_way(one) and not turned
        turned = turned or turn
        setting_up = given.setting_up if turn else 0
        told.append(Chosen(at, minutes, one.minutes - minutes, setting_up, _why(one, given, minutes)))
    return tuple(told)


def _why(one: Piece, given: Circumstances, minutes: int) -> tuple[str, ...]:
    """E.g. ("sets the date", "frees 4 tasks", "may be begun; 40 min are left then")."""
    words = []
    if one.in_hand:
        words.append("in hand already")
    if one.slack == 0:
        words.append("sets the date")
    if one.frees:
        words.append(f"frees {one.frees} task{'' if one.frees == 1 else 's'}")
    if one.skill or one.hands > 1:
        words.append("takes a helper, and one is there")
    if one.car_state in (ON_STANDS, ON_WHEELS):
        words.append(
            f"the car must be brought {one.car_state}"
            if given.other_way(one)
            else f"the car is {one.car_state}"
        )
    if minutes < one.minutes:
        words.append(f"can be begun: {one.minutes - minutes} min are left then")
    return tuple(words) or ("fits the time",)
