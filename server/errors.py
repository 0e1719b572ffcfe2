"""The errors that a page can meet, and the status each one answers with.

WitnessMarkError
├── NotFound           404  the address names nothing that is there
├── NotAllowed         403  who asks may not do this
├── Conflict           409  the same operation is still in progress
├── MissingKey         400  a form came without its operation key
├── MissingVersion     428  an edit did not say which version it was made on
├── KeyReused          422  an operation key came again with other contents; what was typed comes with it
└── Refused                 the form is shown again with what was typed
    ├── BadInput       422  something typed can't be read or used
    └── Stale          412  somebody else changed the same thing meanwhile
"""

from collections.abc import Mapping
from dataclasses import dataclass


class WitnessMarkError(Exception):
    """Root of every error that has a page of its own."""

    status = 500


class NotFound(WitnessMarkError):
    status = 404


class NotAllowed(WitnessMarkError):
    status = 403


class Conflict(WitnessMarkError):
    status = 409


class MissingKey(WitnessMarkError):
    status = 400


class MissingVersion(WitnessMarkError):
    status = 428


class KeyReused(WitnessMarkError):
    status = 422

    def __init__(self, message: str, typed: Mapping[str, str]) -> None:
        super().__init__(message)
        self.typed = dict(typed)


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a question about a field: the text to take in place of what was typed, and its words."""

    text: str
    words: str


@dataclass(frozen=True, slots=True)
class FieldError:
    """One message beside one field: what is wrong, and what would be accepted.

    choices: answers to choose from, where the message asks whether something else was meant.
    """

    field: str
    message: str
    accepts: str = ""
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True)
class Clash:
    """One field that two people changed: what stands there now and what this person typed."""

    field: str
    label: str
    stands: str
    typed: str


class Refused(WitnessMarkError):
    """The form is shown again: `typed` holds every field as it was sent."""

    def __init__(self, message: str, typed: Mapping[str, str]) -> None:
        super().__init__(message)
        self.typed = dict(typed)


class BadInput(Refused):
    status = 422

    def __init__(self, errors: tuple[FieldError, ...], typed: Mapping[str, str]) -> None:
        super().__init__("; ".join(error.message for error in errors), typed)
        self.errors = errors


class Stale(Refused):
    status = 412

    def __init__(self, clashes: tuple[Clash, ...], typed: Mapping[str, str]) -> None:
        super().__init__("Somebody else changed this while you were typing.", typed)
        self.clashes = clashes
