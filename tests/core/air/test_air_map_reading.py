"""A compressor map typed or pasted: what is read, and what is told of what can't be."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air.compressor_map import (
    STANDARD_INLET,
    CompressorMap,
    InletState,
    corrected_flow,
    inlet_fault,
    true_flow,
)
from server.core.air.map_reading import FLOW_UNITS, MOST_POINTS, Field, MapFault, read_map
from tests.core.air.invented_map import as_text, invented_map

POUND_A_MINUTE = 7.559873e-3
"""[kg/s] (NIST SP 811, B.8)."""


def _read(text: str, flow_unit: str = "kg/s") -> CompressorMap:
    found = read_map(text, flow_unit=flow_unit)
    assert isinstance(found, CompressorMap), [str(fault) for fault in found]
    return found


def _faults(text: str) -> list[str]:
    found = read_map(text)
    assert isinstance(found, tuple)
    return [str(fault) for fault in found]


def test_a_pasted_map_comes_back_as_it_was() -> None:
    """Sixteen digits and exponents, as a digitised sheet has them, are read to nine decimals."""
    found, wanted = _read(as_text(invented_map())).points, invented_map().points
    for ours, theirs in zip(found, wanted, strict=True):
        assert (ours.flow, ours.ratio) == pytest.approx((theirs.flow, theirs.ratio), rel=1e-6)
        assert (ours.efficiency, ours.speed) == pytest.approx((theirs.efficiency, theirs.speed), rel=1e-6)
    assert _read("1E-1,1.5,0.7\n2.0e-01,1.6,0.7\n0.15,2.0,0.7").points[0].flow == pytest.approx(0.1)


@pytest.mark.parametrize(
    "text",
    [
        "0.10,1.5,0.70\n0.20,1.6,0.72\n0.15,2.0,0.74",
        "0.10;1.5;0.70\n\n0.20;1.6;0.72\n   \n0.15;2.0;0.74\n",
        "0,10;1,5;0,70\r\n0,20;1,6;0,72\r\n0,15;2,0;0,74",
        "0,10\t1,5\t0,70\n0,20\t1,6\t0,72\n0,15\t2,0\t0,74",
        "0.10,1.5,70\n0.20,1.6,72\n0.15,2.0,74",
        "0.10,1.5,70 %\n0.20,1.6,72 %\n0.15,2.0,74 %",
        "Flow,PR,Efficiency\n0.10,1.5,0.70\n0.20,1.6,0.72\n0.15,2.0,0.74",
        "efficiency [%];flow [g/s];pressure ratio\n70;100;1.5\n72;200;1.6\n74;150;2.0",
        "\ufeffEta;Massflow kg/s;PR;\n0.70;0.10;1.5;\n0.72;0.20;1.6;\n0.74;0.15;2.0;",
        "corrected flow g/s\tp2/p1\teff %\n100\t1.5\t70\n200\t1.6\t72\n150\t2.0\t74",
    ],
)
def test_the_same_three_points_however_they_are_typed(text: str) -> None:
    """Worked by hand: every text holds (0.10, 1.5, 70 %), (0.20, 1.6, 72 %), (0.15, 2.0, 74 %)."""
    found = [(at.flow, at.ratio, at.efficiency, at.speed) for at in _read(text).points]
    wanted = [(0.10, 1.5, 0.70, None), (0.20, 1.6, 0.72, None), (0.15, 2.0, 0.74, None)]
    for ours, theirs in zip(found, wanted, strict=True):
        assert ours == pytest.approx(theirs)


def test_a_unit_in_the_heading_rules_and_else_the_one_chosen_beside_the_text() -> None:
    rows = "10,1.5,0.7\n20,1.6,0.7\n15,2.0,0.7"
    headed = _read(f"flow (lb/min),pr,eff\n{rows}", flow_unit="g/s")
    chosen = _read(rows, flow_unit="lb/min")
    assert headed == chosen
    assert headed.points[0].flow == pytest.approx(10.0 * POUND_A_MINUTE, rel=1e-6)


@pytest.mark.parametrize("unit", FLOW_UNITS)
def test_every_flow_unit_offered_is_read(unit: str) -> None:
    assert _read(f"flow ({unit}),pr,eff\n0.1,1.5,0.7\n0.2,1.6,0.7\n0.15,2.0,0.7").points


def test_wheel_speed_in_thousands_and_in_full_is_the_same() -> None:
    rows = "0.1;1.5;0.7;{low}\n0.2;1.4;0.7;{low}\n0.15;2.0;0.7;{high}\n0.3;1.8;0.7;{high}"
    thousands = _read("flow;pr;eff;speed (krpm)\n" + rows.format(low="90", high="120.5"))
    full = _read("flow;pr;eff;rpm\n" + rows.format(low="90000", high="120500"))
    assert [at.speed for at in thousands.points] == [90e3, 90e3, 120.5e3, 120.5e3]
    assert thousands == full


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Nothing typed"),
        ("0.1 1.5 0.7", "Line 1: fields found: 1; wanted: 3 or 4."),
        ("0,1,1,5,0,7", "decimal commas only with tabs or semicolons"),
        ("0.1,1.5\n", "Line 1: fields found: 2"),
        ("flow;foo;eff\n0.1;1.5;0.7", "Line 1: the heading “foo” names no column"),
        ("flow;flow;eff\n0.1;1.5;0.7", "Line 1, flow: two columns are headed so."),
        ("flow;eff\n0.1;0.7", "Line 1: no column is headed pressure ratio."),
        ("flow (m3/s);pr;eff\n0.1;1.5;0.7", "Line 1, flow: “flow (m3/s)” is in a unit not known here."),
        ("rpm;flow;pr;eff\n90000;0.1;1.5", "Line 2, efficiency: Nothing typed"),
        ("(" * 5000 + " ;pr;eff\n0.1;1.5;0.7", "names no column of a map."),
        ("1" * 5000 + "x,1.5,0.7", "Line 1, flow: That is longer than 60 characters"),
        ("\n\n0.1,1.5,0.7\nx,1.6,0.7", "Line 4, flow: “x” does not begin with a number."),
        ("0.1,0.9,0.7", "Line 1, pressure ratio: “0.9” lies outside what a map can hold."),
        ("0.1,1.5,0", "Line 1, efficiency: “0” lies outside"),
        ("0.1,1.5,70\n0.2,1.6,0.72", "Line 2, efficiency: “0.72” lies outside"),
        ("45,1.5,0.7", "Line 1, flow: “45” lies outside what a map can hold."),
        ("0.1\t1.5\t0.7\t120,000", "Line 1, wheel speed: “120” lies outside"),
        ("0.1,1.5,0.7,fast", "Line 1, wheel speed"),
        ("0.1,1.5,0.7,90000\n0.2,1.6,0.7", "Line 2, wheel speed: it stands on other lines but not here."),
        ("0.1,1.5,0.7\n0.2,1.6,0.7\n0.1,1.5,0.8", "Line 3: the same flow and pressure ratio as line 1."),
        ("0.1,1.5,0.7\n0.2,1.6,0.7", "The points enclose nothing."),
        ("0.1,1.5,0.7\n0.2,1.6,0.7\n0.3,1.7,0.7", "The points enclose nothing."),
        ("0.1,1.5,0.7\n0.2,1.5,0.7\n0.3,1.5,0.7", "The points enclose nothing."),
        (
            "0.1,1.5,0.7,90000\n0.2,1.4,0.7,90000\n0.1,1.4,0.7,100000",
            "from 90000 to 100000 rpm the left end of the speed line does not climb",
        ),
    ],
)
def test_what_cannot_be_read_is_told_by_line_and_field_with_what_would_be(text: str, said: str) -> None:
    (fault,) = _faults(text)
    assert said in fault
    assert "Accepted: " in fault


def test_all_faults_are_told_at_once() -> None:
    told = read_map("0.1,1.5,0.7\nx,0.5,0.7\n0.2,1.6,1.7")
    assert isinstance(told, tuple)
    assert [(fault.line, fault.field) for fault in told] == [
        (2, Field.flow),
        (2, Field.ratio),
        (3, Field.efficiency),
    ]


def test_a_map_too_long_to_be_one_is_refused_before_it_is_read() -> None:
    (fault,) = _faults("0.1,1.5,0.7\n" * (MOST_POINTS + 2))
    assert str(MOST_POINTS) in fault


def test_the_reference_state_belongs_to_the_map_and_is_checked() -> None:
    text = as_text(invented_map())
    warm = read_map(text, InletState(100e3, 298.0))
    assert isinstance(warm, CompressorMap)
    assert warm.reference == InletState(100e3, 298.0)
    told = read_map(text, InletState(1.0, 298.0))
    assert isinstance(told, tuple)
    assert "absolute" in str(told[0])
    assert inlet_fault(InletState(100e3, 25.0)) is not None
    assert inlet_fault(STANDARD_INLET) is None


@given(st.text(alphabet="0123456789.,;\t\n -%abflowpref()/", max_size=200))
def test_any_text_gives_a_map_or_reasons(text: str) -> None:
    found = read_map(text)
    assert isinstance(found, CompressorMap) or all(isinstance(fault, MapFault) for fault in found)
    assert found != ()


@given(st.floats(1e-4, 3.0), st.floats(50e3, 150e3), st.floats(240.0, 340.0), st.floats(90e3, 110e3))
def test_corrected_flow_comes_back_as_the_true_one(
    flow: float, pressure: float, temperature: float, reference: float
) -> None:
    inlet, stand = InletState(pressure, temperature), InletState(reference, 298.0)
    assert true_flow(corrected_flow(flow, inlet, stand), inlet, stand) == pytest.approx(flow)
    assert corrected_flow(flow, stand, stand) == pytest.approx(flow)


def test_a_thin_inlet_asks_for_more_of_the_map_and_nothing_is_no_inlet() -> None:
    high = InletState(80e3, 288.15)
    assert corrected_flow(0.2, high) > 0.2
    assert high.density == pytest.approx(0.967, abs=1e-3)
    with pytest.raises(ValueError, match="above zero"):
        corrected_flow(0.2, InletState(0.0, 288.15))


@pytest.mark.parametrize(
    "text",
    [
        "0.1; 1.5; 70 %\n=cmd|' /C calc'!A0; 2.0; 74 %\n0.3; 2.5; 70 %",
        "0.1; 1.5; 70 %\n0.2; <img src=x onerror=alert(1)>; 74 %\n0.3; 2.5; 70 %",
        "nan; inf; 1e999",
        "1e308; 1e308; 70 %\n" * 3,
        ";" * 19_000,
        '"' * 19_000,
        "(" * 19_000,
        "1" * 19_000,
        "\ufeffPK\x03\x04\ud7ff",
        "0.1; 1.5; 70 %\n" * MOST_POINTS,
    ],
    ids=[
        "formula",
        "markup",
        "no numbers",
        "huge",
        "separators",
        "quotes",
        "brackets",
        "digits",
        "zip",
        "one",
    ],
)
def test_a_hostile_table_is_refused_with_reasons(text: str) -> None:
    found = read_map(text)
    assert isinstance(found, tuple)
    assert all(fault.message and fault.accepts for fault in found)
    assert not any(text in str(fault) for fault in found)
