"""What is said where a figure is missing."""

from dataclasses import dataclass

from server.core.phrase import Phrase


class NotMeasured(Exception):
    """A figure is missing: what to measure or type, and its variable where it has one."""

    def __init__(self, phrase: Phrase, variable: str | None = None) -> None:
        super().__init__(phrase.text)
        self.phrase = phrase
        self.variable = variable


@dataclass(frozen=True, slots=True)
class Missing:
    """One item that could not be judged, and what is missing."""

    item: str
    phrase: Phrase
    variable: str | None = None
