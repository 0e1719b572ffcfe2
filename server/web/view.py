"""The values that pages are made of: frozen, documented, ready for a template or for JSON."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from typing import Any, ClassVar

from server.core.units import Kind, System, show
from server.errors import BadInput, Clash, FieldError, Refused, Stale


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit: the SI value for scripts, the text for people, the other system beside."""

    si: float
    text: str
    other: str = ""
    doubt: float | None = None

    @classmethod
    def of(cls, value: float, kind: Kind, system: System, doubt: float | None = None) -> "Quantity":
        shown = show(value, kind, system, doubt)
        return cls(value, shown.text, shown.other, doubt)


class VerdictWord(Enum):
    """The four answers of a check, as words; each has a shape of its own on the page."""

    GO = "go"
    TIGHT = "tight"
    NO_GO = "no-go"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True, slots=True)
class Verdict:
    """An answer as word and shape, with the probability where there is one; rough: that may be points off."""

    word: VerdictWord
    percent: int | None = None
    rough: bool = False

    @property
    def shape(self) -> str:
        """Name of the symbol that is drawn with the word."""
        return self.word.value.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Link:
    """An address and the words to press."""

    href: str
    text: str


@dataclass(frozen=True, slots=True)
class Tally:
    """How many a list has in all, where the rest of them stands, and where those before."""

    total: int = 0
    more: Link | None = None
    back: Link | None = None

    @classmethod
    def of(cls, total: int, shown: slice, most: int, at: Callable[[int], str]) -> "Tally":
        """at: the address of the list from a place on, where `most` are shown at once."""
        rest = total - shown.stop
        more = Link(at(shown.stop), f"{min(rest, most)} more of {total}") if rest > 0 else None
        back = Link(at(max(shown.start - most, 0)), "The ones before") if shown.start else None
        return cls(total, more, back)


@dataclass(frozen=True, slots=True)
class Undo:
    """A form of one button that takes back what was just done: its address, its fields, its words."""

    href: str
    fields: tuple[tuple[str, str], ...]
    words: str


@dataclass(frozen=True, slots=True)
class News:
    """What was just done, what to mind with it, which tasks became ready by it, and how to take it back."""

    text: str
    more: str = ""
    ready: tuple[Link, ...] = ()
    undo: Undo | None = None


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that happened in a build, for its log: when, what, where it stands, and who did it.

    day_only: the hour is not known; that of `at` says only what it stands before and after.
    """

    at: datetime
    text: str
    href: str
    actor: str = ""
    day_only: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """A safety note: signal word after ANSI Z535.4, the hazard, and who has the last word."""

    signal: str
    text: str


@dataclass(frozen=True, slots=True)
class Option:
    """One choice of a list."""

    value: str
    text: str
    chosen: bool = False


def pairs(options: Iterable[str | tuple[object, str] | Option]) -> list[tuple[object, str]]:
    """Value and text of each choice; a plain text is both."""
    return [
        option
        if isinstance(option, tuple)
        else (option, option)
        if isinstance(option, str)
        else (option.value, option.text)
        for option in options
    ]


@dataclass(frozen=True, slots=True)
class FormState:
    """What a form shows again after it was refused: typed text, messages, clashes."""

    typed: dict[str, str] = field(default_factory=dict)
    errors: tuple[FieldError, ...] = ()
    clashes: tuple[Clash, ...] = ()

    @classmethod
    def of(cls, refused: Refused | None) -> "FormState":
        if isinstance(refused, BadInput):
            return cls(refused.typed, refused.errors, ())
        if isinstance(refused, Stale):
            return cls(refused.typed, (), refused.clashes)
        return cls()

    def text(self, name: str, stands: object = "") -> str:
        """The text to put into a field: what was typed, else what stands."""
        return self.typed.get(name, "" if stands is None else str(stands))

    def error(self, name: str) -> FieldError | None:
        return next((error for error in self.errors if error.field == name), None)


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """The title block of a sheet: which build, which sheet, its number and stage, and the date."""

    build: str
    sheet: str
    date: date
    stage: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class NavLink:
    """A sheet of the build, for the list of sheets."""

    href: str
    text: str
    here: bool = False


@dataclass(frozen=True, kw_only=True)
class Page:
    """A page value: rendered as a whole page, as one of its fragments, or as JSON.

    `fragments` maps the id of an element on the page to the template block that fills it. Where an in-page
    form is refused, `refused_target` names the element that shows its messages instead of the usual one.
    """

    template: ClassVar[str]
    fragments: ClassVar[dict[str, str]] = {}
    refused_target: ClassVar[str] = ""

    title: TitleBlock
    sheets: tuple[NavLink, ...] = ()


def as_json(value: Any) -> Any:
    """A page value as plain JSON data: dataclasses become objects, quantities keep SI value and text.

    A decimal number is text, so that no digit of it is lost.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {part.name: as_json(getattr(value, part.name)) for part in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, dict):
        return {str(key): as_json(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [as_json(item) for item in value]
    return value
