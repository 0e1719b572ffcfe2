"""Numbers that look like another unit. Ranges: common practice, no source; factors: NIST SP 811, B.8."""

import pytest

from server.core.measure.plausible import UNITS, USUAL, meanings, question
from server.core.measure.typed import read
from server.core.units import Kind

HARD = {"bore": (0.001, 0.5), "wall": (0.0002, 0.02), "outside_diameter": (0.001, 0.5), "gap": (0.0, 2.0)}
"""What the fields of the forms take at all [m]."""


def asked(text: str, sort: str, kind: Kind = Kind.length, unit: str | None = "mm") -> tuple[str, ...]:
    """The texts offered for what was typed; none where it is taken as it is."""
    least, most = HARD.get(sort, (None, None))
    found = question(read(text, kind, unit), least, most, sort)
    return tuple(one.text for one in found.meanings) if found else ()


@pytest.mark.parametrize(
    ("text", "sort", "offered"),
    [
        ("3", "bore", ("3 in", "3 cm", "3 mm")),
        ("2,5", "outside_diameter", ("2,5 in", "2,5 cm", "2,5 mm")),
        ("0.06", "bore", ("0.06 m",)),
        ("15", "wall", ("1.5 mm", "15 mm")),
        ("0.065", "wall", ("0.065 in", "0.065 cm")),
        ("635", "outside_diameter", ("63.5 mm",)),
        ("3 ± 0.1", "bore", ("3 ± 0.1 in", "3 ± 0.1 cm", "3 ± 0.1 mm")),
        ("0.5", "gap", ("0.5 in", "0.5 cm", "0.5 mm")),
    ],
)
def test_a_bare_number_that_looks_like_another_unit_is_asked_about(
    text: str, sort: str, offered: tuple[str, ...]
) -> None:
    assert asked(text, sort) == offered


@pytest.mark.parametrize(
    ("text", "sort"),
    [
        ("60", "bore"),
        ("3 mm", "bore"),
        ("15 mm", "wall"),
        ("2 1/2", "bore"),
        ("3 ± 0.1 mm", "bore"),
        ("0", "gap"),
    ],
)
def test_what_is_usual_or_says_its_unit_is_taken_as_it_is(text: str, sort: str) -> None:
    assert asked(text, sort) == ()


def test_millimetres_typed_where_inches_are_bare_are_asked_about() -> None:
    assert asked("63.5", "bore", unit="in") == ("63.5 mm",)
    assert asked("2.5", "bore", unit="in") == ()


@pytest.mark.parametrize(
    ("text", "kind", "unit", "sort", "offered"),
    [
        ("1000 bar", Kind.pressure, None, "boost", ()),
        ("400", Kind.pressure, "bar", "hose_pressure", ("400 kPa", "400 bar")),
        ("60", Kind.pressure, "bar", "hose_pressure", ("60 kPa", "60 psi", "6 bar", "60 bar")),
        ("68", Kind.temperature, "°C", "outside_temperature", ("68 °F", "68 °C")),
        ("293", Kind.temperature, "°C", "outside_temperature", ("293 K", "293 °C")),
    ],
)
def test_pressures_and_temperatures_are_asked_about_too(
    text: str, kind: Kind, unit: str | None, sort: str, offered: tuple[str, ...]
) -> None:
    assert asked(text, sort, kind, unit) == offered


def test_a_written_unit_is_asked_about_only_where_the_field_does_not_take_it() -> None:
    found = question(read("1000 bar", Kind.pressure), 0.0, 4e5, "boost")
    assert found is not None
    assert found.words == "1000 bar is out of range. Did you mean 1000 mbar (100 kPa)?"
    assert [one.text for one in found.meanings] == ["1000 mbar"], "to keep it is no answer"


def test_the_question_says_what_is_odd_and_what_may_have_been_meant() -> None:
    found = question(read("3", Kind.length, "mm"), 0.001, 0.5, "bore")
    assert found is not None
    assert found.words == "3 mm is small for a bore. Did you mean 3 in (76.2 mm) or 3 cm (30 mm)?"
    assert [one.words for one in found.meanings] == ["3 in (76.2 mm)", "3 cm (30 mm)", "3 mm, as typed"]


@pytest.mark.parametrize("text", ["3", "15", "0.06", "635", "2,5"])
def test_every_answer_is_read_as_it_is_offered_and_is_not_asked_about_again(text: str) -> None:
    typed = read(text, Kind.length, "mm")
    usual = USUAL["bore"]
    for one in meanings(typed, usual.least, usual.most):
        again = read(one.text, Kind.length, "mm")
        assert usual.least <= again.value <= usual.most
        assert question(again, 0.001, 0.5, "bore") is None


def test_what_cannot_be_meant_otherwise_is_not_asked_about() -> None:
    assert meanings(read("-3", Kind.length, "mm"), 0.001, 0.5) == ()
    assert meanings(read("700", Kind.angle), 0.0, 6.3) == ()
    assert all(usual.least < usual.most and usual.words for usual in USUAL.values())
    assert all("mm" in units or kind is not Kind.length for kind, units in UNITS.items())


def test_a_field_of_which_no_more_is_known_says_that_it_is_out_of_range() -> None:
    found = question(read("300", Kind.pressure, "bar"), 0.5e5, 20e5)
    assert found is not None
    assert found.words == "300 bar is out of range. Did you mean 300 kPa (43.5 psi)?"
