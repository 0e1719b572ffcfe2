"""Reads what a script sends as JSON: strictly, with messages that say what would be accepted.

A number is a JSON number: text, true and null are not. What is not a field is refused, so that a misspelt
name is never taken for a value left out.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from server.errors import BadInput, FieldError

M = TypeVar("M", bound=BaseModel)

LARGEST_BODY = 2_000_000
"""Bytes; no list that is accepted comes near it."""
MOST_ERRORS = 50
LONGEST_SHOWN = 40

Place = Sequence[str | int]

_MESSAGES = {
    "missing": "Missing.",
    "float_type": "{shown} is not a number.",
    "finite_number": "{shown} is not a finite number.",
    "greater_than": "{shown} is out of range.",
    "greater_than_equal": "{shown} is out of range.",
    "less_than": "{shown} is out of range.",
    "less_than_equal": "{shown} is out of range.",
    "string_type": "{shown} is not text.",
    "string_too_short": "Nothing is written here.",
    "string_too_long": "{shown} is too long.",
    "literal_error": "{shown} is not one of the choices.",
    "list_type": "{shown} is not a list.",
    "too_short": "The list is empty.",
    "too_long": "The list is too long.",
    "model_type": "{shown} is not an object.",
    "dict_type": "{shown} is not an object.",
    "extra_forbidden": "There is no such field.",
}


def read_json(body: bytes, model: type[M]) -> M:
    """The body of a request as a value of this model. Raises BadInput."""
    if len(body) > LARGEST_BODY:
        raise _refused_whole(f"The body has more than {LARGEST_BODY} bytes.", model)
    try:
        asked = json.loads(body.decode("utf-8"), object_pairs_hook=_once_each)
        json.dumps(asked, ensure_ascii=False).encode("utf-8")
    except _Twice as twice:
        raise _refused_whole(str(twice), model) from None
    except UnicodeError:
        raise _refused_whole("The body holds characters that are not Unicode text (UTF-8).", model) from None
    except (ValueError, RecursionError):
        raise _refused_whole("The body is not JSON.", model) from None
    return checked(asked, model)


def checked(asked: object, model: type[M]) -> M:
    """Plain JSON data as a value of this model. Raises BadInput with a message for every field at fault."""
    try:
        return model.model_validate(asked, strict=True)
    except ValidationError as problem:
        raise BadInput(_field_errors(problem, model), {}) from None


class _Twice(ValueError):
    """A field is written twice in one object."""


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    read = dict(pairs)
    if len(read) < len(pairs):
        raise _Twice("A field is written twice in one object.")
    return read


def _refused_whole(message: str, model: type[BaseModel]) -> BadInput:
    return BadInput((FieldError("", message, _object(model)),), {})


def _field_errors(problem: ValidationError, model: type[BaseModel]) -> tuple[FieldError, ...]:
    faults = problem.errors(include_url=False)
    errors = [
        FieldError(field_name(fault["loc"]), _message(fault), _accepts(fault["loc"], model))
        for fault in faults[:MOST_ERRORS]
    ]
    if len(faults) > MOST_ERRORS:
        rest = len(faults) - MOST_ERRORS
        errors.append(FieldError("", f"{rest} more fields can't be used.", _object(model)))
    return tuple(errors)


def field_name(place: Place) -> str:
    """A place inside the body as a script would write it.

    >>> field_name(("bends", 0, "angle_deg"))
    'bends[0].angle_deg'
    """
    name = ""
    for step in place:
        if isinstance(step, int):
            name += f"[{step}]"
        else:
            name += f".{step}" if name else step
    return name if len(name) <= 2 * LONGEST_SHOWN else name[: 2 * LONGEST_SHOWN] + "…"


def _message(fault: Mapping[str, Any]) -> str:
    words = _MESSAGES.get(fault["type"], "{shown} can't be used here.")
    return words.replace("{shown}", _shown(fault["input"]))


def _shown(value: object) -> str:
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > 10**LONGEST_SHOWN:
        return "A number of so many digits"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "…"


def _accepts(place: Place, model: type[BaseModel]) -> str:
    """What would be accepted at this place."""
    inside: type[BaseModel] = model
    found = _object(model)
    for step in place:
        if isinstance(step, int):
            found = _object(inside)
            continue
        if step not in inside.model_fields:
            return _object(inside)
        field = inside.model_fields[step]
        found = accepts(field)
        deeper = item_model(field) or whole_model(field)
        if deeper is None:
            return found
        inside = deeper
    return found


def _object(model: type[BaseModel]) -> str:
    return f"an object with {', '.join(model.model_fields)}"


def extras(field: FieldInfo) -> dict[str, Any]:
    """What the model notes about a field beside its type."""
    noted = field.json_schema_extra
    return dict(noted) if isinstance(noted, dict) else {}


def accepts(field: FieldInfo) -> str:
    """What a field accepts, in words, as its model notes it."""
    return str(extras(field).get("accepts", ""))


def item_model(field: FieldInfo) -> type[BaseModel] | None:
    """The model of the items of a list of objects; None for any other field."""
    for part in get_args(field.annotation):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part
    return None


def whole_model(field: FieldInfo) -> type[BaseModel] | None:
    """The model of a field that is one object; None for any other field."""
    kind = field.annotation
    return kind if isinstance(kind, type) and issubclass(kind, BaseModel) else None
