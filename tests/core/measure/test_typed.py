"""Quantities as people type them beside the car."""

import contextlib
import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from server.core.measure.typed import DASH_SIZES, LONGEST_TEXT, NotRead, Reference, read
from server.core.measure.unit_words import EXAMPLES, MOST, UNIT_OF_WORD, USUAL_UNIT
from server.core.units import SI_UNIT, Kind, System, registry, show, to_si

MM = 0.001


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("3 1/4", 82.55),
        ('3-1/4"', 82.55),
        ("3 1/4 in", 82.55),
        ("3¼ in", 82.55),
        ("2.5in", 63.5),
        ('2.5"', 63.5),
        ("2.5″", 63.5),
        ("2.5''", 63.5),
        ("63,5 mm", 63.5),
        ("0,125 in", 3.175),
        ("6.35cm", 63.5),
        ("2' 3 1/2\"", 698.5),
        ("2ft 3 1/2in", 698.5),
        ("2′", 609.6),
        ('½"', 12.7),
        ("-⅛ in", -3.175),
        ("− 12.5 mm", -12.5),
        ("+12.5 mm", 12.5),
        ("-2' 6\"", -762.0),
        ("65 thou", 1.651),
        (" 82.5  mm ", 82.5),
        (".5 in", 12.7),
        ("Ø 82,5 mm", 82.5),
        ("⌀82.5 mm.", 82.5),
        ("2.5 in.", 63.5),
        ("80. mm", 80.0),
    ],
)
def test_lengths_as_people_write_them(text: str, millimetres: float) -> None:
    typed = read(text, Kind.length)

    assert typed.value / MM == pytest.approx(millimetres, rel=1e-12)
    assert typed.text == text
    assert typed.reference is None


@pytest.mark.parametrize(
    ("text", "kilopascals", "reference"),
    [
        ("18 psi", 124.105631, Reference.not_stated),
        ("18 psig", 124.105631, Reference.gauge),
        ("14.5 psia", 99.973981, Reference.absolute),
        ("1.1 bar g", 110.0, Reference.gauge),
        ("1.1 bar(g)", 110.0, Reference.gauge),
        ("1,1 bar gauge", 110.0, Reference.gauge),
        ("1 bar abs", 100.0, Reference.absolute),
        ("100 kPa", 100.0, Reference.not_stated),
        ("100 kPaa", 100.0, Reference.absolute),
        ("-0.6 bar g", -60.0, Reference.gauge),
        ("14 in Hg", 47.409441, Reference.not_stated),
    ],
)
def test_a_pressure_is_kept_as_written_and_says_what_it_counts_from(
    text: str, kilopascals: float, reference: Reference
) -> None:
    typed = read(text, Kind.pressure)

    assert typed.value / 1000.0 == pytest.approx(kilopascals, rel=1e-7)
    assert typed.reference is reference


@pytest.mark.parametrize(
    "text", ["-10 AN", "−10 AN", "-10AN", "AN-10", "AN 10", "an10", "10 AN", "-10", "dash 10", "-10 JIC"]
)
def test_a_dash_size_also_gives_its_tube(text: str) -> None:
    typed = read(text, Kind.size)

    assert typed.dash == 10
    assert typed.value / MM == pytest.approx(15.875, rel=1e-12)
    assert typed.unit == "AN"


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("95°C", Kind.temperature, 368.15),
        ("68 F", Kind.temperature, 293.15),
        ("90 °F", Kind.temperature_difference, 50.0),
        ("42,5°", Kind.angle, math.radians(42.5)),
        ("42.5", Kind.angle, math.radians(42.5)),
        ("6600", Kind.rotation, 6600 * math.tau / 60),
        ("6600 1/min", Kind.rotation, 6600 * math.tau / 60),
        ("250 g/s", Kind.mass_flow, 0.25),
        ("60 kg/min", Kind.mass_flow, 1.0),
        ("33 lb/min", Kind.mass_flow, 33 * 0.45359237 / 60),
        ("420 cfm", Kind.volume_flow, 420 * 4.719474432e-4),
        ("550 cc/min", Kind.volume_flow, 550e-6 / 60),
        ("2.1 l", Kind.volume, 0.0021),
        ("2100 cc", Kind.volume, 0.0021),
        ("95 %", Kind.ratio, 0.95),
        ("0,95", Kind.ratio, 0.95),
        ("9.5:1", Kind.ratio, 9.5),
        ("285 PS", Kind.power, 285 * 735.49875),
        ("100 km/h", Kind.speed, 100 / 3.6),
        ("1.5 h", Kind.time, 5400.0),
        ("200 N/mm²", Kind.stress, 2e8),
        ("1.2 kg/m³", Kind.density, 1.2),
    ],
)
def test_other_kinds_come_out_in_si(text: str, kind: Kind, value: float) -> None:
    assert read(text, kind).value == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "value", "doubt"),
    [
        ("82.5 ± 0.2 mm", Kind.length, 0.0825, 0.0002),
        ("82.5mm±0.2", Kind.length, 0.0825, 0.0002),
        ("3 1/4 in +/- 0.5 mm", Kind.length, 0.08255, 0.0005),
        ("82.5 ± 0.2", Kind.length, 0.0825, 0.0002),
        ("80 mm ± 1 %", Kind.length, 0.08, 0.0008),
        ("20 ± 2 °C", Kind.temperature, 293.15, 2.0),
        ("293.15 ± 2 K", Kind.temperature, 293.15, 2.0),
        ("68 ± 9 °F", Kind.temperature, 293.15, 5.0),
        ("90 ± 2 %", Kind.ratio, 0.9, 0.02),
        ("1.1 ± 0.1 bar g", Kind.pressure, 110_000.0, 10_000.0),
    ],
)
def test_a_typed_doubt_is_kept_as_a_difference(text: str, kind: Kind, value: float, doubt: float) -> None:
    typed = read(text, kind, "mm" if kind is Kind.length else None)

    assert typed.value == pytest.approx(value, rel=1e-12)
    assert typed.doubt == pytest.approx(doubt, rel=1e-9)


def test_a_doubt_that_says_gauge_speaks_for_its_value() -> None:
    assert read("1.1 ± 0.1 bar g", Kind.pressure).reference is Reference.gauge


def test_the_given_unit_counts_only_where_the_text_has_none() -> None:
    assert read("82.5", Kind.length, "mm").value == pytest.approx(0.0825)
    assert read("2.5 in", Kind.length, "mm").value == pytest.approx(0.0635)
    assert read("33", Kind.mass_flow, "lb/min").unit == "lb/min"


def test_a_bare_fraction_is_inches_even_where_bare_numbers_are_millimetres() -> None:
    assert read("3 1/4", Kind.length, "mm").value == pytest.approx(0.08255)
    assert read("3 1/4 mm", Kind.length).value == pytest.approx(0.00325)
    assert read("2 1/2", Kind.length, "ft").value == pytest.approx(2.5 * 0.3048)


@pytest.mark.parametrize(
    ("text", "kind", "unit", "says"),
    [
        ("", Kind.length, "mm", "Nothing typed"),
        ("   ", Kind.length, "mm", "Nothing typed"),
        ("1,234", Kind.length, "mm", "could be 1.234 or 1234"),
        ("6,600 rpm", Kind.rotation, None, "could be 6.600 or 6600"),
        ("1,234.5 mm", Kind.length, None, "can't be read as one number"),
        ("1.2.3 mm", Kind.length, None, "can't be read as one number"),
        ("1 234 mm", Kind.length, None, "not a unit"),
        ("31/4 in", Kind.length, None, "more than one"),
        ("3 5/4 in", Kind.length, None, "less than one"),
        ("1/0 in", Kind.length, None, "divides by zero"),
        ("nan mm", Kind.length, None, "does not begin with a number"),
        ("inf mm", Kind.length, None, "does not begin with a number"),
        ("mm", Kind.length, None, "does not begin with a number"),
        ("1e5 mm", Kind.length, None, "not a unit"),
        ("9" * 12 + " mm", Kind.length, None, "far too large"),
        ("9" * (LONGEST_TEXT + 1), Kind.length, "mm", "longer than"),
        ("18 psi", Kind.length, None, "a unit of pressure; a length is wanted"),
        ("-10 AN", Kind.length, None, "a unit of size"),
        ("82.5", Kind.length, None, "has no unit"),
        ("82.5 furlongs", Kind.length, None, "not a unit of length"),
        ("82.5 ± 0 mm", Kind.length, None, "more than zero"),
        ("82.5 ± -1 mm", Kind.length, None, "more than zero"),
        ("82.5 ± 1 psi", Kind.length, None, "a unit of pressure"),
        ("82.5 ± 99999 m", Kind.length, None, "far too large"),
        ("1 ± 2 ± 3 mm", Kind.length, None, "more than one ±"),
        ("0.95 ± 2 %", Kind.ratio, None, "a part or a percentage"),
        ("Ø 10 psi", Kind.pressure, None, "does not begin with a number"),
        ("±2 mm", Kind.length, None, "does not begin with a number"),
        ("--5 mm", Kind.length, None, "two signs"),
        ("2' 14\"", Kind.length, None, "fewer than twelve"),
        ("2' 14 mm", Kind.length, None, "fewer than twelve"),
        ("٣ mm", Kind.length, None, "does not begin with a number"),
        ("__import__('os')", Kind.length, None, "does not begin with a number"),
        ("-300 °C", Kind.temperature, None, "absolute zero"),
        ("-20 psig", Kind.pressure, None, "perfect vacuum"),
        ("-1 psia", Kind.pressure, None, "can't be negative"),
        ("-1 kg", Kind.mass, None, "can't be negative"),
        ("-11 AN", Kind.size, None, "no -11"),
        ("10", Kind.size, None, "not a dash size"),
        ("10 mm", Kind.size, None, "not a dash size"),
        ("5", Kind.length, "psi", "not a unit of length"),
    ],
)
def test_what_is_refused_says_why_and_what_to_write(
    text: str, kind: Kind, unit: str | None, says: str
) -> None:
    with pytest.raises(NotRead) as refused:
        read(text, kind, unit)

    assert says in refused.value.message
    assert refused.value.accepts
    assert refused.value.accepts in str(refused.value)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_example_that_a_message_gives_is_read(kind: Kind) -> None:
    for text in EXAMPLES[kind].replace("63,5", "63.5").split(", "):
        assert read(text, kind).kind is kind


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.size])
def test_every_unit_word_measures_its_kind(kind: Kind) -> None:
    wanted = registry().Quantity(1.0, SI_UNIT[kind]).dimensionality

    for unit in UNIT_OF_WORD[kind].values():
        assert registry().Quantity(1.0, unit).dimensionality == wanted, unit


def _shown(kind: Kind) -> st.SearchStrategy[float]:
    least = {Kind.pressure: -100_000.0, Kind.temperature: 10.0}.get(kind, 0.0)
    return st.floats(least, 0.9 * MOST[kind], allow_nan=False)


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.size])
@pytest.mark.parametrize("system", list(System))
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_what_is_shown_can_be_typed_back(kind: Kind, system: System, data: st.DataObject) -> None:
    value = data.draw(_shown(kind))
    shown = show(value, kind, system)
    back = read(shown.text, kind)

    assert back.value == pytest.approx(value, rel=0.006, abs=_LAST_PLACE[kind])
    if shown.other:
        assert read(shown.other, kind).value == pytest.approx(value, rel=0.006, abs=_LAST_PLACE[kind])


# One step of the last decimal that is ever shown, in the coarser of the two systems.
_LAST_PLACE = {
    Kind.length: 0.0001,
    Kind.pressure: to_si(0.01, "psi"),
    Kind.temperature: 1.0,
    Kind.temperature_difference: 1.0,
    Kind.mass_flow: to_si(0.001, "g/s"),
    Kind.volume_flow: to_si(0.001, "foot**3/min"),
    Kind.angle: math.radians(0.01),
    Kind.speed: 0.01,
    Kind.power: 1.0,
    Kind.force: to_si(0.01, "lbf"),
    Kind.mass: 0.001,
    Kind.volume: to_si(0.01, "inch**3"),
    Kind.ratio: 0.0001,
    Kind.rotation: to_si(0.1, "rpm"),
    Kind.stress: to_si(0.001, "ksi"),
    Kind.density: 0.01,
    Kind.time: 0.01,
}


@settings(max_examples=200, deadline=None)
@given(value=st.floats(0.001, 5.0), doubt=st.floats(1e-5, 0.05), system=st.sampled_from(list(System)))
@example(value=0.08255, doubt=0.0001, system=System.metric)
def test_a_value_shown_with_its_doubt_can_be_typed_back(value: float, doubt: float, system: System) -> None:
    back = read(show(value, Kind.length, system, doubt).text, Kind.length)

    assert back.doubt is not None
    assert back.doubt == pytest.approx(doubt, rel=0.2)
    assert abs(back.value - value) <= 0.51 * back.doubt


@given(dash=st.sampled_from(DASH_SIZES))
def test_a_dash_size_shown_can_be_typed_back(dash: int) -> None:
    shown = show(read(f"-{dash} AN", Kind.size).value, Kind.size, System.metric)

    assert read(shown.text, Kind.size).dash == dash


@given(whole=st.integers(0, 200), sixty_fourths=st.integers(1, 63))
def test_a_fraction_typed_is_shown_as_the_same_length(whole: int, sixty_fourths: int) -> None:
    text = f"{whole} {sixty_fourths}/64 in" if whole else f"{sixty_fourths}/64 in"
    typed = read(text, Kind.length)

    assert typed.value == pytest.approx((whole + sixty_fourths / 64) * 0.0254, rel=1e-12)
    assert read(show(typed.value, Kind.length, System.inch).text, Kind.length).value == pytest.approx(
        typed.value
    )


@settings(max_examples=400, deadline=None)
@given(text=st.text(max_size=80), kind=st.sampled_from(list(Kind)))
@example(text="1/2/3", kind=Kind.length)
@example(text="±", kind=Kind.length)
@example(text="-", kind=Kind.size)
@example(text="1 bar (g", kind=Kind.pressure)
def test_any_text_is_read_or_refused_and_nothing_else(text: str, kind: Kind) -> None:
    with contextlib.suppress(NotRead):
        typed = read(text, kind, None if kind in USUAL_UNIT else next(iter(UNIT_OF_WORD[kind])))
        assert math.isfinite(typed.value)
        assert typed.text == text
