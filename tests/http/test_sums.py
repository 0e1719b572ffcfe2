"""The bench sums over HTTP: right against published values, and the same for people and for scripts."""

import json
import re
from collections.abc import Mapping, Sequence
from html import unescape
from math import atan, pi
from typing import Any

import pytest

from server.features.sums.service import BENCH
from tests.asking import Browser
from tests.asking_sums import GOOD, as_typed, ask
from tests.reference_values import load

AIR = {check.id: check for check in load("air")}
HEAT = {check.id: check for check in load("heat")}


# Against the world


def test_a_fraction_of_an_inch_is_read_to_the_last_digit(bench: Browser) -> None:
    """1 in = 25.4 mm exactly (NIST SP 811, B.8)."""
    found = ask(bench, "reading", {"text": "3 1/4 in", "kind": "length"})
    assert found["value_mm"] == pytest.approx(82.55, abs=1e-9)
    assert found["also"] == "82.6 mm"


def test_a_pressure_is_read_as_written_and_says_what_it_is_counted_from(bench: Browser) -> None:
    """1 psi = 6.894757 kPa (NIST SP 811, B.8)."""
    plain = ask(bench, "reading", {"text": "18 psi", "kind": "pressure"})
    assert plain["value_kpa"] == pytest.approx(18 * 6.894757, rel=1e-6)
    assert plain["reference"] == "not stated"
    assert ask(bench, "reading", {"text": "1.1 bar g", "kind": "pressure"})["reference"] == "gauge"
    assert ask(bench, "reading", {"text": "14.5 psia", "kind": "pressure"})["reference"] == "absolute"


def test_a_dash_size_is_a_tube_in_sixteenths_of_an_inch(bench: Browser) -> None:
    """SAE J514: −10 is 5/8 in outside."""
    found = ask(bench, "reading", {"text": "-10 AN", "kind": "size"})
    assert (found["dash"], found["value_mm"]) == (10, pytest.approx(15.875))


@pytest.mark.parametrize("text", ["-5 °C", "−5 °C", "−5"])
def test_both_signs_are_a_minus(bench: Browser, text: str) -> None:
    found = ask(bench, "reading", {"text": text, "kind": "temperature", "unit": "°C"})
    assert found["value_c"] == pytest.approx(-5.0)


def test_a_flow_is_by_mass_or_by_volume_as_its_unit_says(bench: Browser) -> None:
    """1 lb/min = 7.559873e-3 kg/s, 1 cfm = 4.719474e-4 m³/s (NIST SP 811, B.8)."""
    mass = ask(bench, "reading", {"text": "33 lb/min", "kind": "flow"})
    assert mass["value_kg_s"] == pytest.approx(33 * 7.559873e-3, rel=1e-6)
    volume = ask(bench, "reading", {"text": "420 cfm", "kind": "flow"})
    assert volume["value_m3_s"] == pytest.approx(420 * 4.719474e-4, rel=1e-6)


def test_agreeing_readings_combine_by_their_weights(bench: Browser) -> None:
    """Weighted mean, Cox (2002), procedure A, worked by hand: (10.1/0.04 + 10.4/0.01) / (25 + 100)."""
    pair = [{"value_mm": 10.1, "doubt_mm": 0.2}, {"value_mm": 10.4, "doubt_mm": 0.1}]
    found = ask(bench, "combine", {"readings": pair})
    assert found["value_mm"] == pytest.approx(10.34)
    assert found["doubt_mm"] == pytest.approx(1 / 125**0.5)
    assert found["chi_square"] == pytest.approx(1.8)
    assert found["agree"] is True


def test_the_doubt_never_falls_under_the_instruments_own(bench: Browser) -> None:
    many = [{"value_mm": 10.0, "doubt_mm": 0.1}] * 100
    assert ask(bench, "combine", {"readings": many, "instrument_floor_mm": 0.05})["doubt_mm"] == 0.05


def test_a_loggers_worth_of_readings_is_one_sum(bench: Browser) -> None:
    many = [{"value_mm": 10.0, "doubt_mm": 0.1}] * 10_000
    assert ask(bench, "combine", {"readings": many})["doubt_mm"] == pytest.approx(0.001)


def test_readings_that_disagree_widen_the_doubt_and_say_so(bench: Browser) -> None:
    """Birge ratio, worked by hand: chi² = 2 (0.5/0.1)² = 50, √50 × 0.1/√2 = 0.5."""
    pair = [{"value_mm": 10.0, "doubt_mm": 0.1}, {"value_mm": 11.0, "doubt_mm": 0.1}]
    found = ask(bench, "combine", {"readings": pair})
    assert found["agree"] is False
    assert found["doubt_mm"] == pytest.approx(0.5)
    assert "disagree" in found["notes"][0]


def test_the_atmosphere_is_the_published_one(bench: Browser) -> None:
    for check in AIR.values():
        if check.subject == "core.air.atmosphere.standard pressure":
            found = ask(bench, "atmosphere", {"elevation_m": check.inputs["elevation"]})
            assert check.allows(found["pressure_kpa"] * 1e3), check.id


def test_the_air_demand_is_the_textbooks(bench: Browser) -> None:
    found = ask(bench, "air-demand", GOOD["air-demand"])
    assert AIR["ENG-03"].allows(found["flow_kg_s"])


def test_the_compressor_is_the_textbooks(bench: Browser) -> None:
    found = ask(bench, "compressor", GOOD["compressor"])
    assert AIR["ENG-04-temperature"].allows(found["outlet_temperature_c"] + 273.15)
    assert AIR["ENG-04-power"].allows(found["power_kw"] * 1e3)
    assert "specific heat" in found["notes"][0]


def test_the_friction_of_a_tube_is_moodys(bench: Browser) -> None:
    """Re 1e5 and a smooth wall: 0.01799 (PIP-01-1)."""
    flow = 1e5 * 3.141592653589793 * 0.05 * 1.8206e-5 / 4  # viscosity of air at 20 °C, Sutherland
    asked = GOOD["tube"] | {
        "bore_mm": 50, "roughness_mm": 0, "bends": [], "flow_kg_s": flow, "temperature_c": 20
    }  # fmt: skip
    found = ask(bench, "tube", asked)
    assert found["reynolds"] == pytest.approx(1e5, rel=0.01)
    assert found["friction_factor"] == pytest.approx(0.01799, rel=0.005)


def test_a_tube_that_chokes_is_a_result_with_its_greatest_flow(bench: Browser) -> None:
    choked = ask(bench, "tube", GOOD["tube"] | {"flow_kg_s": 3.0})
    assert choked["choked"] is True
    assert choked["loss_kpa"] is None
    assert choked["reason"]
    just_under = choked["greatest_flow_kg_s"] * 0.999
    assert ask(bench, "tube", GOOD["tube"] | {"flow_kg_s": just_under})["choked"] is False


def test_the_friction_of_an_arc_is_counted_once(bench: Browser) -> None:
    """The arc is in the bend; its length is not asked again, so a bend costs what its method says."""
    one = ask(bench, "tube", GOOD["tube"])
    assert "friction along the arc included" in one["bend_method"]
    straight = ask(bench, "tube", GOOD["tube"] | {"bends": []})
    assert straight["loss_kpa"] < one["loss_kpa"]


def test_a_sharp_step_up_is_borda_carnots(bench: Browser) -> None:
    """K = (1 − (50/60)²)² on the smaller bore's speed (Borda-Carnot)."""
    assert ask(bench, "step", GOOD["step"])["loss_coefficient"] == pytest.approx((1 - 25 / 36) ** 2)


def test_a_sharp_step_down_is_on_the_smaller_bores_speed_too(bench: Browser) -> None:
    """K = ½ (1 − (50/60)²) (Crane TP-410, page A-26)."""
    found = ask(bench, "step", {"bore_in_mm": 60, "bore_out_mm": 50, "half_angle_deg": None})
    assert found["loss_coefficient"] == pytest.approx(0.5 * (1 - 25 / 36))


def test_the_end_force_is_pressure_times_area(bench: Browser) -> None:
    """Statics: 150 kPa on 63.5 mm is 475 N."""
    assert ask(bench, "blow-off", GOOD["blow-off"])["force_n"] == pytest.approx(475.0, abs=0.1)


def test_the_stress_of_a_wall_is_the_worked_examples(bench: Browser) -> None:
    """HOS-01: 1000 kPa on 300 mm with 1 mm wall is 150 MPa; by Lamé a little less."""
    found = ask(bench, "hoop", GOOD["hoop"])
    assert HEAT["HOS-01"].allows(found["stress_mpa"] * 1e6)
    assert 149.0 < found["bore_stress_mpa"] < found["stress_mpa"]
    assert "Thin wall on the outside diameter" in found["basis"]
    assert found["notes"] == []


def test_a_thick_wall_is_answered_and_said_to_be_out_of_range(bench: Browser) -> None:
    found = ask(bench, "hoop", {"outside_diameter_mm": 10, "wall_mm": 2.5, "gauge_kpa": 1000})
    assert found["stress_mpa"] == pytest.approx(2.0)
    assert found["bore_stress_mpa"] == pytest.approx(5.0 / 3.0)  # Lamé, twice as wide outside
    assert "out of the formula's range" in found["notes"][0]


def test_two_walls_that_leave_no_bore_have_a_reason_and_no_number(bench: Browser) -> None:
    found = ask(bench, "hoop", {"outside_diameter_mm": 10, "wall_mm": 5, "gauge_kpa": 100})
    assert found["stress_mpa"] is None
    assert "no bore" in found["reason"]


def test_a_downpipe_grows_as_linear_expansion_says(bench: Browser) -> None:
    """17.2e-6 per K, a metre from 20 to 600 °C: 9.98 mm; and that at exhaust heat it is more is said."""
    found = ask(bench, "growth", GOOD["growth"])
    assert found["growth_mm"] == pytest.approx(9.976, rel=1e-3)
    assert found["metal"] == "stainless steel"
    assert "5 to 10 % more" in found["notes"][0]


def test_the_growth_of_a_steam_pipe_is_the_worked_examples(bench: Browser) -> None:
    """Expansion of pipes, worked in inches: 100 ft, 8.0e-6 per °F, 1.728 in; here 12.2e-6 per K."""
    asked = {"material": "AISI 1010", "length_mm": 30_480, "from_c": 0, "to_c": 100}
    assert ask(bench, "growth", asked)["growth_mm"] == pytest.approx(1.728 * 25.4 * 12.2 / 14.4, rel=1e-3)


def test_metal_that_gets_colder_shrinks_and_metal_that_melts_has_no_answer(bench: Browser) -> None:
    cold = ask(bench, "growth", GOOD["growth"] | {"from_c": 20, "to_c": -30})
    assert cold["growth_mm"] == pytest.approx(-0.86)
    melted = ask(bench, "growth", GOOD["growth"] | {"material": "aluminium", "to_c": 700})
    assert melted["growth_mm"] is None
    assert "melts" in melted["reason"]


def test_the_heat_on_a_neighbour_closes_when_rebuilt_from_its_parts(bench: Browser) -> None:
    """Stefan and Boltzmann, put together again by hand from what the sum gives."""
    asked = GOOD["radiant"]
    found = ask(bench, "radiant", asked)
    hot, beside, air = (
        value + 273.15 for value in (asked["hot_c"], found["neighbour_c"], asked["ambient_c"])
    )
    sigma = 5.670374419e-8
    assert found["flux_w_m2"] == pytest.approx(
        found["exchange_factor"] * sigma * (hot**4 - beside**4), rel=1e-6
    )
    assert found["convected_w_m2"] == pytest.approx(asked["film_w_m2_k"] * (beside - air), rel=1e-6)
    assert found["flux_w_m2"] == pytest.approx(found["convected_w_m2"] + found["reradiated_w_m2"], rel=1e-6)
    assert abs(found["closure_w_m2"]) < 1e-3
    assert found["view_factor"] == pytest.approx(0.761 * atan(50 / 88.05), rel=1e-9)


def test_a_bright_shield_takes_most_of_the_heat_away(bench: Browser) -> None:
    bare, shielded = (ask(bench, "radiant", GOOD["radiant"] | {"shield": one}) for one in ("none", "bright"))
    assert shielded["flux_w_m2"] < 0.1 * bare["flux_w_m2"]
    assert 60 < shielded["neighbour_c"] < shielded["shield_c"] < bare["neighbour_c"]
    assert bare["shield_c"] is None


@pytest.mark.parametrize(
    ("asked", "as_asked"),
    [
        ({"shield": None}, {"shield": "none"}),
        ({"shield": 0.1}, {"shield": "bright", "shield_emissivity": 0.1}),
        ({"shield": "bright"}, {"shield": "bright", "shield_emissivity": 0.05}),
        ({}, {"shield": "none"}),
    ],
)
def test_a_shield_may_be_given_by_its_emissivity_or_left_out(
    bench: Browser, asked: dict[str, object], as_asked: dict[str, object]
) -> None:
    assert ask(bench, "radiant", GOOD["radiant"] | asked) == ask(bench, "radiant", GOOD["radiant"] | as_asked)


def test_a_height_out_of_the_formulas_range_has_a_reason_and_no_number(bench: Browser) -> None:
    found = ask(bench, "atmosphere", {"elevation_m": 50_000})
    assert found["pressure_kpa"] is None
    assert "11000 m" in found["reason"]


# For people and for scripts


@pytest.mark.parametrize("name", BENCH)
def test_the_page_answers_its_own_example_and_keeps_what_was_typed(bench: Browser, name: str) -> None:
    blank = bench.get(f"/sums/{name}")
    assert blank.status_code == 200
    example = unescape(re.findall(rf'href="(/sums/{name}\?[^"]+)"', blank.text)[0])
    page = bench.get_json(example)
    assert any(page["found"][kind] for kind in ("figures", "words", "tables", "parts"))
    assert page["form"]["typed"]
    whole = bench.get(example)
    assert len(whole.content) < 60_000
    for text in page["form"]["typed"].values():
        assert f'value="{text}"' in unescape(whole.text)


@pytest.mark.parametrize("name", [name for name in BENCH if name != "reading"])
def test_page_and_script_give_the_same_numbers(bench: Browser, name: str) -> None:
    asked = GOOD[name]
    typed = as_typed(asked)
    page = bench.get(f"/sums/{name}", params=typed, headers={"accept": "application/json"}).json()
    found = ask(bench, name, asked)
    compare(page["found"]["figures"], found)
    results = [one for name in ("routes", "splices") for one in found.get(name, ())]
    for part, result in zip(page["found"]["parts"], results, strict=True):
        compare(part["figures"], result)


def compare(figures: Sequence[dict[str, Any]], found: Mapping[str, Any]) -> None:
    """Each number of a script's answer stands on the page, and nothing else."""
    wanted = {key: value for key, value in found.items() if isinstance(value, float)}
    factors = {"kpa": 1e3, "mm": 1e-3, "kw": 1e3, "mpa": 1e6, "deg": pi / 180.0}
    for figure in figures:
        value = wanted.pop(figure["name"])
        end = figure["name"].rsplit("_", 1)[-1]
        si = value + 273.15 if end == "c" else value * factors.get(end, 1.0)
        assert figure["value"]["si"] == pytest.approx(si, rel=1e-9)
    assert not wanted


def test_a_person_types_in_any_unit(bench: Browser) -> None:
    typed = {"outside_diameter_mm": "2.5 in", "gauge_kpa": "1.5 bar g"}
    page = bench.get("/sums/blow-off", params=typed, headers={"accept": "application/json"}).json()
    assert page["found"]["figures"][0]["value"]["si"] == pytest.approx(475.0, abs=0.1)


def test_a_gauge_pressure_is_not_taken_for_an_absolute_one(bench: Browser) -> None:
    typed = {
        "bore_mm": "60",
        "length_mm": "600",
        "roughness_mm": "0",
        "flow_kg_s": "0.2",
        "temperature_c": "50",
    }
    answer = bench.get("/sums/tube", params=typed | {"pressure_kpa": "1 bar g"})
    assert answer.status_code == 422
    assert "counted from a vacuum" in answer.text
    assert 'value="1 bar g"' in answer.text


def test_what_can_not_be_read_stays_in_its_field_with_a_message(bench: Browser) -> None:
    typed = {
        "readings[0].value_mm": "82.5",
        "readings[0].doubt_mm": "0.1",
        "readings[4].value_mm": "<b>wide</b>",
        "readings[4].doubt_mm": "-1 mm",
    }
    answer = bench.get("/sums/combine", params=typed)
    assert answer.status_code == 422
    assert "&lt;b&gt;wide&lt;/b&gt;" in answer.text
    assert "<b>wide" not in answer.text
    errors = bench.get("/sums/combine", params=typed, headers={"accept": "application/json"}).json()["form"][
        "errors"
    ]
    assert {error["field"] for error in errors} == {"readings[4].value_mm", "readings[4].doubt_mm"}


def test_a_doubt_typed_with_its_reading_is_used(bench: Browser) -> None:
    both = {"readings[0].value_mm": "82.5 ± 0.2 mm", "readings[1].value_mm": "82.5 mm ± 0.2 mm"}
    page = bench.get("/sums/combine", params=both, headers={"accept": "application/json"}).json()
    figures = {figure["name"]: figure["value"]["si"] for figure in page["found"]["figures"]}
    assert figures["doubt_mm"] == pytest.approx(0.2e-3 / 2**0.5)


def test_a_doubt_where_none_is_used_is_refused_rather_than_lost(bench: Browser) -> None:
    answer = bench.get("/sums/atmosphere", params={"elevation_m": "240 ± 5 m"})
    assert answer.status_code == 422
    assert "has no place here" in answer.text


def test_the_end_force_page_carries_its_caution(bench: Browser) -> None:
    assert "Local codes and licensed practice come first" in bench.get("/sums/blow-off").text


@pytest.mark.parametrize("name", ["hoop", "radiant"])
def test_sums_of_what_can_hurt_carry_their_caution(bench: Browser, name: str) -> None:
    assert "Local codes and licensed practice come first" in bench.get(f"/sums/{name}").text


def test_a_material_that_is_not_known_is_refused_in_its_field(bench: Browser) -> None:
    answer = bench.get(
        "/sums/growth", params={"material": "cheese", "length_mm": "1 m", "from_c": "20", "to_c": "90"}
    )
    assert answer.status_code == 422
    assert "none of the metals" in answer.text
    assert 'value="cheese"' in answer.text


def test_the_list_leads_to_every_sum(bench: Browser) -> None:
    hrefs = [line["href"] for line in bench.get_json("/sums")["sums"]]
    assert hrefs == [f"/sums/{name}" for name in BENCH]
    assert bench.get("/sums/hat-size").status_code == 404


def test_openapi_names_every_field_with_its_unit(bench: Browser) -> None:
    described = bench.get("/openapi.json").json()
    assert set(described["paths"]) >= {f"/sums/{name}" for name in BENCH}
    fields = described["components"]["schemas"]["TubeIn"]["properties"]
    assert fields["bore_mm"]["unit"] == "mm"
    assert all(field.get("description") or field.get("items") for field in fields.values())
    assert "HTTPValidationError" not in json.dumps(described)


def test_nothing_else_than_the_sums_is_open_to_other_programs(bench: Browser) -> None:
    assert all(path.startswith("/sums/") for path in bench.get("/openapi.json").json()["paths"])


def test_an_empty_form_that_was_sent_says_what_is_missing(bench: Browser) -> None:
    assert bench.get("/sums/blow-off").status_code == 200
    sent = bench.get("/sums/blow-off?outside_diameter_mm=&gauge_kpa=")
    assert sent.status_code == 422
    assert sent.text.count("Missing.") == 2
