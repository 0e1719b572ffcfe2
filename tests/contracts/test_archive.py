"""No table is forgotten when a build is written out, and nothing in one names a row unseen."""

import re

import pytest
from sqlalchemy import JSON, Integer, String, Table

from server.features.archive.forms import FIXED
from server.features.archive.store import LEFT_OUT, kept_tables, owner
from server.migrate import tables

KEPT = kept_tables(tables())
WITHOUT_NUMBERS = {
    *("engine_sheet.typed", "figure_sheet.numbers", "figure_sheet.said", "figure_sheet.tables"),
    *(
        "figure_sheet.typed",
        "keep_out.numbers",
        "keep_out.typed",
        "pose_reading.numbers",
    ),
    *("pose_reading.typed", "piece.turns", "piece.ratings", "piece.typed", "joint.typed", "neighbour.typed"),
    "trim.typed",
}
"""JSON that tells sizes and words only, never the number of a row."""
RENUMBERED = {
    *("pose_reading.said", "build.stamps", "forecast_note.stood", "forecast_note.moved"),
    "start_signature.evidence",
}
"""JSON that `archive/store.py` writes anew."""


def test_every_table_is_written_out_or_left_out_for_a_reason() -> None:
    assert {table.name for table in KEPT} | LEFT_OUT.keys() == set(tables().tables)
    assert all(len(reason) > 20 for reason in LEFT_OUT.values())


@pytest.mark.parametrize("table", KEPT, ids=lambda table: table.name)
def test_every_row_belongs_to_a_build(table: Table) -> None:
    while (link := owner(table)) is not None:
        (key,) = link.foreign_keys
        table = key.column.table
    assert table.name == "build"


def test_what_names_a_row_without_a_foreign_key_is_known() -> None:
    numbers = {
        f"{table.name}.{column.name}"
        for table in KEPT
        for column in table.columns
        if column.name.endswith("_id") and isinstance(column.type, Integer) and not column.foreign_keys
    }
    told = {
        f"{table.name}.{column.name}"
        for table in KEPT
        for column in table.columns
        if isinstance(column.type, JSON)
    }
    assert numbers == {"photo.subject_id"}
    assert told == WITHOUT_NUMBERS | RENUMBERED


OWN_WORDS = re.compile(
    r".*(typed|name|note|reason|by|actor|title|text|words|contact|code|spec|origin|caption|digest|href|revision)"
    r"|subsystem\.letter|garage_time\.zone|port\.(facing|material|from_set)|task\.(helper_skill|carry|from_set)"
    r"|setback\.carry|helper\.skills|build\.car|limit_change\.limit_key|.*concession\.rule|log_entry\.kind"
    r"|start_(entry|look)\.(item|state)|joint\.(filler|screw_at)|supply_order\.supplier|design\.chosen_because"
    r"|leak_test\.found|order_line\.rate(_source)?|ledger_line\.clamp|line_act\.detail"
)
"""Columns with words of people's own, or with words that pages pass over where they know none such."""


def test_every_word_of_a_list_is_checked_when_a_build_comes_in() -> None:
    texts = {
        f"{table.name}.{column.name}"
        for table in KEPT
        for column in table.columns
        if isinstance(getattr(column.type, "impl", column.type), String)
    }
    assert texts >= FIXED.keys()
    assert {place for place in texts - FIXED.keys() if not OWN_WORDS.fullmatch(place)} == set()
