"""The page of a sum: its form, and its answer where something was typed."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Literal, get_args, get_origin

from annotated_types import MaxLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from server.errors import BadInput, FieldError, Refused
from server.features.bench import forms, page
from server.web.json_body import extras, item_model, whole_model

Answering = tuple[type[forms.Asked], Callable[[Any], page.Answer]]
"""What a sum is asked, and how it answers."""


def sum_page(
    words: page.Sum, answering: Answering, typed: Mapping[str, str], now: datetime
) -> tuple[page.SumPage, int]:
    """One sum and its status: 200, or 422 where what was typed can't be used."""
    model, answer = answering
    asked = dict(typed)
    refused: Refused | None = None
    found: page.Answer | None = None
    if asked:
        try:
            found = answer(forms.typed_sum(model, asked))
        except BadInput as bad:
            refused = BadInput(bad.errors, asked)
    blocks = _blocks(model, asked)
    if isinstance(refused, BadInput):
        refused = BadInput(tuple(_beside(error, blocks) for error in refused.errors), asked)
    shown = page.sum_page(words, blocks, asked, refused, found, now.date())
    return shown, refused.status if refused else 200


def _beside(error: FieldError, blocks: Sequence[page.Block]) -> FieldError:
    """The error beside the field that was typed: a point among several has no field of its own."""
    names = {entry.name for block in blocks for row in block.rows for entry in row}
    name = error.field
    while name not in names and name.endswith("]"):
        name = name.rpartition("[")[0]
    return replace(error, field=name) if name in names else error


def _blocks(model: type[BaseModel], typed: Mapping[str, str]) -> list[page.Block]:
    """The form of a sum: its fields in order, and every list as rows, those filled and some that are free."""
    blocks = []
    for name, field in model.model_fields.items():
        item, whole = item_model(field), whole_model(field)
        if whole is not None:
            parts = whole.model_fields.items()
            row = tuple(_entry(f"{name}.{part}", inner, hinted=True) for part, inner in parts)
            blocks.append(page.Block(name, field.title or name, (row,)))
            continue
        if item is None:
            blocks.append(page.Block(name, "", ((_entry(name, field, hinted=True),),)))
            continue
        filled = forms.filled_rows(item, name, typed)
        count = min(max(extras(field)["shown"], 2 + max(filled, default=-1)), _most_rows(field))
        rows = tuple(
            tuple(
                _entry(f"{name}[{number}].{part}", inner, hinted=number == 0, one_of_many=True)
                for part, inner in item.model_fields.items()
            )
            for number in range(count)
        )
        blocks.append(page.Block(name, field.title or name, rows))
    return blocks


def _most_rows(field: FieldInfo) -> int:
    """So many rows the list takes, and a page has room for."""
    most = (one.max_length for one in field.metadata if isinstance(one, MaxLen))
    return min(*most, forms.MOST_ROWS)


def _entry(name: str, field: FieldInfo, *, hinted: bool, one_of_many: bool = False) -> page.Entry:
    """One field; a choice in a row that may stay free starts with none."""
    options = get_args(field.annotation) if get_origin(field.annotation) is Literal else ()
    if field.annotation is bool:
        options = ("", forms.YES)
    elif options and one_of_many:
        options = ("", *options)
    noted = extras(field)
    hint = _hint(field) if hinted and not options else ""
    wide = bool(noted.keys() & {"points", "directions", "names", "amounts"})
    return page.Entry(name, field.title or name, hint, noted.get("unit", ""), options, wide)


def _hint(field: FieldInfo) -> str:
    """What the field's description adds to its title, else an example."""
    described = (field.description or "").split(" [", 1)[0].removeprefix(field.title or "").lstrip(", ")
    if described:
        return described[:1].lower() + described[1:]
    example = field.examples[0] if field.examples else ""
    return f"such as {example:g}" if isinstance(example, float) else f"such as {example}"
