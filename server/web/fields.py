"""Reads the fields of a form: typed values out, or a message beside each field that can't be used.

Every reader method notes its errors and carries on, so that all of a form's messages appear at once;
`done` then raises them together.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation

from server.core.buying.exchange import decimals
from server.core.measure.plausible import question
from server.core.measure.typed import NotRead, Typed, read
from server.core.units import Kind
from server.errors import BadInput, Choice, FieldError, MissingVersion

MOST_MINOR = 1_000_000_000
MONEY_SUCH_AS = {
    0: "a whole amount such as 1250: this currency has no decimals",
    3: "an amount such as 24.500: this currency has three decimals",
    4: "an amount such as 24.5000: this currency has four decimals",
}
LARGEST_WHOLE = 2_000_000_000
MEANT, ASKED = "meant.", "|"
"""A field `meant.bore` with the text `3|3 in` answers, for the field `bore`, what its `3` was meant as."""


class Fields:
    """The fields of one form, read one by one."""

    def __init__(self, typed: Mapping[str, str]) -> None:
        self.typed = typed
        self.errors: list[FieldError] = []

    def refuse(self, name: str, message: str, accepts: str = "", choices: tuple[Choice, ...] = ()) -> None:
        self.errors.append(FieldError(name, message, accepts, choices))

    def raw(self, name: str) -> str:
        """The text of a field: as typed, or what its sender said it was meant as when asked about it."""
        text = self.typed.get(name, "").strip()
        asked, _, meant = self.typed.get(f"{MEANT}{name}", "").partition(ASKED)
        return meant.strip() if meant and asked.strip() == text else text

    def text(self, name: str, label: str, *, most: int, required: bool = False) -> str:
        text = self.raw(name)
        if required and not text:
            self.refuse(name, f"{label} is missing.", f"a few words, up to {most} characters")
        if len(text) > most:
            self.refuse(name, f"{label} is {len(text)} characters long.", f"up to {most} characters")
        return text[:most]

    def quantity(
        self,
        name: str,
        label: str,
        kind: Kind,
        *,
        unit: str | None = None,
        required: bool = False,
        least: float | None = None,
        most: float | None = None,
        accepts: str = "",
        sort: str = "",
    ) -> Typed | None:
        """A number with its unit as typed; limits in SI, inclusive. `unit` where the text has none.

        `sort`: of size in `plausible.USUAL`; a bare number out of what is usual for it is asked about where
        it would be usual in another unit.
        """
        text = self.raw(name)
        if not text:
            if required:
                self.refuse(name, f"{label} is missing.", accepts or self._example(kind))
            return None
        try:
            typed = read(text, kind, unit)
        except NotRead as problem:
            self.refuse(name, f"{label}: {problem.message}", accepts or problem.accepts)
            return None
        refused = (least is not None and typed.value < least) or (most is not None and typed.value > most)
        asked = question(typed, least, most, sort)
        if asked is not None:
            choices = tuple(Choice(one.text, one.words) for one in asked.meanings)
            self.refuse(name, f"{label}: {asked.words}", accepts or "the size with its unit", choices)
        elif refused:
            self.refuse(name, f"{label}: {text} is out of range.", accepts)
        return None if refused or asked is not None else typed

    def length(
        self, name: str, label: str, least: float, most: float, accepts: str, *, sort: str = ""
    ) -> float:
        """A length that has to be typed [m], a bare number in mm; 0 where a message was noted."""
        found = self.quantity(
            name, label, Kind.length, unit="mm", required=True, least=least, most=most, accepts=accepts,
            sort=sort,
        )  # fmt: skip
        return 0.0 if found is None else found.value

    def point(
        self, name: str, label: str, *, most: float, required: bool = False
    ) -> tuple[Typed, ...] | None:
        """A point as one text, three lengths: forward, left and up; a bare number is in mm.

        most: how far off each may be [m]. Parted by spaces, or by semicolons where units are written apart.
        """
        text = self.raw(name)
        accepts = "forward, left, up in mm, such as 400 250 -120; with units 15 1/2 in; 10 in; -5 in"
        if not text:
            if required:
                self.refuse(name, f"{label} is missing.", accepts)
            return None
        parts = [part for part in (text.split(";") if ";" in text else text.split()) if part.strip()]
        if len(parts) != 3:
            self.refuse(name, f"{label}: {len(parts)} of three numbers.", accepts)
            return None
        try:
            read_as = tuple(read(part.strip(), Kind.length, "mm") for part in parts)
        except NotRead as problem:
            self.refuse(name, f"{label}: {problem.message}", accepts)
            return None
        if any(abs(one.value) > most for one in read_as):
            self.refuse(name, f"{label}: {text[:40]} is out of range.", f"{accepts}; up to {most:g} m")
            return None
        return read_as

    @staticmethod
    def _example(kind: Kind) -> str:
        try:
            read("", kind)
        except NotRead as problem:
            return problem.accepts
        return ""

    def whole(
        self, name: str, label: str, *, least: int, most: int = LARGEST_WHOLE, required: bool = False
    ) -> int | None:
        text = self.raw(name)
        accepts = (
            f"a whole number, {least:,} to {most:,}"
            if most < LARGEST_WHOLE
            else f"a whole number, {least} or more"
        )
        if not text:
            if required:
                self.refuse(name, f"{label} is missing.", accepts)
            return None
        if not (text.lstrip("+-").isascii() and text.lstrip("+-").isdigit() and len(text) <= 11):
            self.refuse(name, f"{label}: “{text[:40]}” is not a whole number.", accepts)
            return None
        number = int(text)
        if not least <= number <= most:
            self.refuse(name, f"{label}: {number} is out of range.", accepts)
            return None
        return number

    def choice(self, name: str, label: str, allowed: Sequence[str], *, default: str | None = None) -> str:
        text = self.raw(name)
        if text in allowed:
            return text
        if not text and default is not None:
            return default
        self.refuse(name, f"{label}: choose one of the list.", ", ".join(item for item in allowed if item))
        return default if default is not None else next(iter(allowed), "")

    def row_id(self, name: str, label: str, allowed: Sequence[int], *, required: bool = False) -> int | None:
        """The number of a row, one of those offered."""
        text = self.raw(name)
        if not text and not required:
            return None
        if text.isascii() and text.isdigit() and len(text) < 12 and int(text) in allowed:
            return int(text)
        self.refuse(name, f"{label}: choose one of the list.", "one that the list offers")
        return None

    def flag(self, name: str) -> bool:
        return self.raw(name) in {"on", "yes", "1", "true"}

    def day(self, name: str, label: str, *, required: bool = False) -> date | None:
        text = self.raw(name)
        accepts = "a date, such as 2026-11-25"
        if not text:
            if required:
                self.refuse(name, f"{label} is missing.", accepts)
            return None
        try:
            day = date.fromisoformat(text)
        except ValueError:
            self.refuse(name, f"{label}: “{text[:40]}” is not a date.", accepts)
            return None
        if not 1990 <= day.year <= 2100:
            self.refuse(name, f"{label}: {day.year} is out of range.", "a year from 1990 to 2100")
            return None
        return day

    def clock(self, name: str, label: str, *, required: bool = False) -> int | None:
        """A time of day as the minute of the day, up to 24:00."""
        text = self.raw(name)
        accepts = "a time of day, such as 18:00"
        if not text:
            if required:
                self.refuse(name, f"{label} is missing.", accepts)
            return None
        found = re.fullmatch(r"(\d{1,2})[:.](\d{2})", text, re.ASCII)
        minute = 60 * int(found[1]) + int(found[2]) if found and int(found[2]) < 60 else -1
        if not 0 <= minute <= 24 * 60:
            self.refuse(name, f"{label}: “{text[:40]}” is not a time of day.", accepts)
            return None
        return minute

    def money(self, name: str, label: str, *, required: bool = False, currency: str = "") -> int | None:
        """An amount of money, as whole minor units: hundredths, or what the currency named has."""
        text = self.raw(name).replace("\u00a0", "").replace(" ", "")
        count = decimals(currency)
        of = f" of {currency}" if currency else ""
        accepts = MONEY_SUCH_AS.get(count, "an amount such as 24.50 or 24,50")
        if not text:
            if required:
                self.refuse(name, f"{label} is missing.", accepts)
            return None
        try:
            amount = Decimal(text.replace(",", "."))
        except InvalidOperation:
            amount = Decimal(-1)
        most = MOST_MINOR / Decimal(10) ** count
        fits = amount.is_finite() and 0 <= amount <= most and not (amount * 10**count) % 1
        if not fits:
            self.refuse(name, f"{label}: “{text[:40]}” is not an amount{of}.", accepts)
            return None
        return int(amount * 10**count)

    def version(self) -> int:
        """The version that this edit was made on. Raises MissingVersion when the form does not say."""
        text = self.raw("version")
        if not (text.isascii() and text.isdigit() and len(text) < 12):
            raise MissingVersion("This edit does not say which version it was made on. Load the page again.")
        return int(text)

    def done(self) -> None:
        """Raises BadInput with every message noted so far."""
        if self.errors:
            raise BadInput(tuple(self.errors), self.typed)


def one_of_two(
    typed: Mapping[str, str],
    name: str,
    label: str,
    words: tuple[str, str] = ("yes", "no"),
    *,
    usual: str | None = None,
) -> bool:
    """Whether the first of two words was sent; `usual` counts where none was. Raises BadInput."""
    fields = Fields(typed)
    answer = fields.choice(name, label, words, default=usual)
    fields.done()
    return answer == words[0]
