"""What is said of a hose that comes off."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from server.core.lines.ledger import Medium
from server.errors import BadInput, FieldError
from server.features.ledger.forms import HIGHEST_TAG
from server.features.ledger.page import LABELS
from server.web.fields import Fields

_LINE = re.compile(r"([1-9][0-9]{0,8})-([1-9][0-9]{0,3})")


@dataclass(frozen=True, slots=True)
class NewHose:
    """A hose that is not in the ledger: what its two ends came off, what it carries, its number."""

    first: str
    second: str
    medium: Medium
    tag: int

    @property
    def name(self) -> str:
        return f"{self.first} to {self.second}"[:80]


def known_hose(typed: Mapping[str, str]) -> tuple[int, int]:
    """The line, and the number that the page showed for it. Raises BadInput."""
    found = _LINE.fullmatch(typed.get("line", ""))
    if found is None:
        raise BadInput((FieldError("line", "It is not said which hose.", "one of the list"),), typed)
    return int(found[1]), int(found[2])


def new_hose(typed: Mapping[str, str]) -> NewHose:
    """Raises BadInput."""
    fields = Fields(typed)
    first = fields.text("first", "One end came off", most=80, required=True)
    second = fields.text("second", "The other end came off", most=80, required=True)
    medium = fields.choice("medium", LABELS["medium"], list(Medium))
    tag = fields.whole("tag", LABELS["tag"], least=1, most=HIGHEST_TAG)
    if tag is None and not typed.get("tag", "").strip():
        fields.refuse("tag", "The number is missing.", "the one that is written on both ends")
    fields.done()
    return NewHose(first, second, Medium(medium), tag or 0)
