"""Draws acts at the gate before the first start, sends them, and keeps its own account of what stands."""

from dataclasses import dataclass, field

from hypothesis import strategies as st

from tests.asking import fresh_key
from tests.at_the_gate import AtTheGate

STAGES = 4
"""The first ones; all are signed by the same code."""

Act = tuple[str, int]
KINDS = (
    "look",
    "look",
    "enter",
    "enter",
    "clear",
    "sign",
    "sign",
    "sign",
    "twice",
    "unseen",
    "back",
    "open",
    "cap",
)
acts = st.lists(st.tuples(st.sampled_from(KINDS), st.integers(0, STAGES - 1)), min_size=4, max_size=14)


@dataclass
class Play:
    """What must be so, by the answers that acts got: which stages are signed, entered, looked at."""

    car: AtTheGate
    closed: bool = True
    lookers: set[str] = field(default_factory=set)
    entered: set[int] = field(default_factory=set)
    stands: list[int] = field(default_factory=list)

    def begin(self, ready: int) -> None:
        """Sign so many stages as they should be."""
        for act in [("look", 0), ("look", 1)] if ready else []:
            self.do(act)
        for place in range(ready):
            self.do(("enter", place))
            self.do(("sign", place))

    def do(self, act: Act) -> None:
        kind, place = act
        getattr(self, f"_{kind}")(place)
        self.agrees()

    def agrees(self) -> None:
        words = self.car.words()
        codes = list(words)[:STAGES]
        assert [at for at, code in enumerate(codes) if words[code] == "signed"] == self.stands
        assert words[list(words)[STAGES]] != "signed"

    def _may_sign(self, place: int) -> bool:
        ready = place in self.entered and (place > 0 or (self.closed and len(self.lookers) > 1))
        return ready and self.stands == list(range(place))

    def _code(self, place: int) -> str:
        return self.car.codes()[place]

    def _look(self, place: int) -> None:
        who = ("Ada", "Ben")[place % 2]
        taken = self.car.look(who).status_code == 303
        assert taken == self.closed
        if taken:
            self.lookers.add(who)

    def _open_to_entries(self, place: int) -> bool:
        return place not in self.stands and list(range(place)) == self.stands[:place]

    def _enter(self, place: int) -> None:
        taken = self.car.enter(self._code(place)).status_code == 303
        assert taken == self._open_to_entries(place)
        if taken:
            self.entered.add(place)

    def _clear(self, place: int) -> None:
        answer = self.car.browser.post(f"{self.car.gate}/{self._code(place)}/entries", {})
        assert (answer.status_code == 303) == self._open_to_entries(place)
        if answer.status_code == 303:
            self.entered.discard(place)

    def _sign(self, place: int) -> None:
        may = self._may_sign(place)
        assert (self.car.sign(self._code(place)).status_code == 303) == may
        if may:
            self.stands.append(place)

    def _twice(self, place: int) -> None:
        """The very same form from two tabs at once."""
        may, code = self._may_sign(place), self._code(place)
        form = {"by": "Ada", "seen": self.car.stage(code)["seen"], "operation_key": fresh_key()}
        answers = self.car.browser.post_at_once(f"{self.car.gate}/{code}/signature", form, 2)
        assert [one.status_code for one in answers] == [303 if may else 422] * 2
        if may:
            self.stands.append(place)

    def _unseen(self, place: int) -> None:
        assert self.car.sign(self._code(place), seen="something else").status_code == 422

    def _back(self, place: int) -> None:
        code = self._code(place)
        there = self.car.stage(code)["signed"] is not None
        assert (self.car.take_back(code).status_code == 303) == there
        if there:
            self.stands = [one for one in self.stands if one < place]

    def _open(self, _place: int) -> None:
        self._set("open")

    def _cap(self, _place: int) -> None:
        self._set("capped")

    def _set(self, closing: str) -> None:
        """Whatever is saved of the nipple is a change: its looks and what was signed on it are gone."""
        assert self.car.set_point(closing).status_code == 303
        self.closed = closing == "capped"
        self.lookers.clear()
        self.stands.clear()
