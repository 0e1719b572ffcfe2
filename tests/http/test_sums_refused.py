"""What a script may send to the bench sums by mistake or in malice: always answered, always in one shape."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.core.air.expansion import METAL_NAMES
from server.features.sums.service import BENCH
from tests.asking import Browser
from tests.asking_sums import GOOD, ask, refusal, send
from tests.samples import WHOLE

Case = tuple[str, str, str, bytes]
NO_OBJECTS = (b"", b"{", b"[]", b"null", b"7", b'"text"', b"\xff\xfe", b"[" * 20_000)
NO_NUMBERS: tuple[Any, ...] = (True, None, [1], {"value": 1}, "12", float("nan"), float("inf"), 10**400)
NO_TEXTS: tuple[Any, ...] = (5, True, None, ["5 mm"])
NO_LISTS: tuple[Any, ...] = ({}, True, None, "[]", 5)
NO_PARTS: tuple[Any, ...] = ([], True, None, "{}", 5)
WRONG: dict[type, tuple[Any, ...]] = {list: NO_LISTS, str: NO_TEXTS, dict: NO_PARTS}
MAY_BE_LEFT_OUT = {"bends", "keep_outs", "instrument_floor_mm", "paper_mm", "resources", "iterations", "seed"}


def hostile() -> list[Case]:
    """(id, sum, field that must be named, body): every field of every sum left out, and filled wrongly."""
    cases: list[Case] = []
    for name, good in GOOD.items():
        cases += [(f"{name} body {body[:8]!r}", name, "", body) for body in NO_OBJECTS]
        cases.append((f"{name} stray", name, "colour", json.dumps(good | {"colour": 1}).encode()))
        for field in good.keys() - MAY_BE_LEFT_OUT:
            rest = {key: value for key, value in good.items() if key != field}
            cases.append((f"{name} without {field}", name, field, json.dumps(rest).encode()))
        for field, value in good.items():
            wrong = WRONG.get(type(value), NO_NUMBERS)
            cases += [
                (f"{name} {field}={str(bad)[:9]}", name, field, json.dumps(good | {field: bad}).encode())
                for bad in wrong
            ]
    return sorted(cases)


ONE = {"value_mm": 1, "doubt_mm": 1}
BEND = {"angle_deg": 90, "radius_mm": 95}
TURN = {"straight_mm": 100, "rotation_deg": 0, "angle_deg": 90, "radius_mm": 95}
TAPE = {"point_mm": [0, 0, 0], "distance_mm": 400, "doubt_mm": 1}
ROUTE = GOOD["route"]
POSE = {"point_mm": [0, 0, 0], "direction": [1, 0, 0]}
CRATE = {"shape": "box", "centre_mm": [0, 0, 0], "half_sizes_mm": [10, 20, 30], "gap_mm": 5}
SPLICE = GOOD["splice"]
PLAN = GOOD["cut-plan"]
FIXED = SPLICE["fixed"]
SCHEDULE = GOOD["schedule"]


def planned(*tasks: dict[str, Any]) -> dict[str, Any]:
    """Tasks of two hours named a, with what is said of each."""
    return SCHEDULE | {"tasks": [{"name": "a", "hours": 2} | task for task in tasks]}


def three(low: float, likely: float, high: float) -> dict[str, float]:
    return {"hours_low": low, "hours_likely": likely, "hours_high": high}


NAMED = [
    ("combine", "readings[1].doubt_mm", {"readings": [ONE, ONE | {"doubt_mm": 0}]}),
    ("combine", "readings[0].value_mm", {"readings": [{"doubt_mm": 1}]}),
    ("combine", "readings[0]", {"readings": [5]}),
    ("combine", "readings", {"readings": [ONE] * 10_001}),
    ("combine", "instrument_floor_mm", {"readings": [ONE], "instrument_floor_mm": -1}),
    ("tube", "bends[0].angle_deg", GOOD["tube"] | {"bends": [{"angle_deg": -90, "radius_mm": 95}]}),
    ("tube", "bends[0].radius_mm", GOOD["tube"] | {"bends": [{"angle_deg": 90}]}),
    ("tube", "bends[1].colour", GOOD["tube"] | {"bends": [BEND, BEND | {"colour": 1}]}),
    ("tube", "bends", GOOD["tube"] | {"bends": [BEND] * 1000}),
    ("tube", "bore_mm", GOOD["tube"] | {"bore_mm": 0}),
    ("tube", "length_mm", GOOD["tube"] | {"length_mm": -1}),
    ("tube", "pressure_kpa", GOOD["tube"] | {"pressure_kpa": -50}),
    ("tube", "temperature_c", GOOD["tube"] | {"temperature_c": -300}),
    ("compressor", "efficiency", GOOD["compressor"] | {"efficiency": 72}),
    ("air-demand", "rpm", GOOD["air-demand"] | {"rpm": 0}),
    ("step", "half_angle_deg", GOOD["step"] | {"half_angle_deg": 91}),
    ("step", "half_angle_deg", GOOD["step"] | {"half_angle_deg": "10"}),
    ("blow-off", "outside_diameter_mm", GOOD["blow-off"] | {"outside_diameter_mm": -63.5}),
    ("hoop", "wall_mm", GOOD["hoop"] | {"wall_mm": 0}),
    ("hoop", "outside_diameter_mm", GOOD["hoop"] | {"outside_diameter_mm": -300}),
    ("growth", "material", GOOD["growth"] | {"material": "cheese"}),
    ("growth", "material", GOOD["growth"] | {"material": ""}),
    ("growth", "length_mm", GOOD["growth"] | {"length_mm": -1}),
    ("growth", "to_c", GOOD["growth"] | {"to_c": -274}),
    ("radiant", "hot_emissivity", GOOD["radiant"] | {"hot_emissivity": 1.1}),
    ("radiant", "neighbour_emissivity", GOOD["radiant"] | {"neighbour_emissivity": 0}),
    ("radiant", "gap_mm", GOOD["radiant"] | {"gap_mm": -1}),
    ("radiant", "film_w_m2_k", GOOD["radiant"] | {"film_w_m2_k": -1}),
    ("radiant", "shield", GOOD["radiant"] | {"shield": "two"}),
    ("radiant", "shield", GOOD["radiant"] | {"shield": True}),
    ("radiant", "shield", GOOD["radiant"] | {"shield": 5}),
    ("radiant", "shield_emissivity", GOOD["radiant"] | {"shield": "bright", "shield_emissivity": 0}),
    ("mitre", "outside_diameter_mm", GOOD["mitre"] | {"outside_diameter_mm": -60}),
    ("mitre", "cuts", GOOD["mitre"] | {"cuts": 0}),
    ("mitre", "cuts", GOOD["mitre"] | {"cuts": 1000}),
    ("mitre", "cuts", GOOD["mitre"] | {"cuts": 2.5}),
    ("offset", "fitting_deg", GOOD["offset"] | {"fitting_deg": 0}),
    ("bend-table", "vertices_mm", {}),
    ("bend-table", "vertices_mm", {"vertices_mm": [[0, 0, 0]], "radii_mm": []}),
    ("bend-table", "vertices_mm[1]", {"vertices_mm": [[0, 0, 0], [1, 0]], "radii_mm": []}),
    ("bend-table", "vertices_mm[1][2]", {"vertices_mm": [[0, 0, 0], [1, 0, "up"]], "radii_mm": []}),
    ("bend-table", "vertices_mm[1]", {"vertices_mm": [[0, 0, 0]] * 3, "radii_mm": [95]}),
    ("bend-table", "radii_mm", GOOD["bend-table"] | {"radii_mm": [95]}),
    ("bend-table", "radii_mm[1]", GOOD["bend-table"] | {"radii_mm": [95, -95]}),
    ("bend-table", "rows", GOOD["bend-table"] | {"rows": [TURN]}),
    ("bend-table", "last_straight_mm", {"rows": [TURN]}),
    ("bend-table", "rows[0].angle_deg", {"rows": [TURN | {"angle_deg": 180}], "last_straight_mm": 50}),
    ("route", "start.direction", ROUTE | {"start": POSE | {"direction": [0, 0, 0]}}),
    ("route", "end.direction[1]", ROUTE | {"end": POSE | {"direction": [0, "up", 0]}}),
    ("route", "end.point_mm", ROUTE | {"end": POSE | {"point_mm": [1, 2]}}),
    ("route", "start.colour", ROUTE | {"start": POSE | {"colour": 1}}),
    ("route", "bends[0].angle_deg", ROUTE | {"bends": [BEND | {"angle_deg": 180}]}),
    ("route", "bends[0].radius_mm", ROUTE | {"bends": [BEND | {"radius_mm": 0}]}),
    ("route", "bends[0].may_cut_down", ROUTE | {"bends": [BEND | {"may_cut_down": "yes"}]}),
    ("route", "bends", ROUTE | {"bends": [BEND] * 13}),
    ("route", "most_bends", ROUTE | {"most_bends": 4}),
    ("route", "keep_outs[0].shape", ROUTE | {"keep_outs": [{"shape": "cone", "gap_mm": 5}]}),
    ("route", "keep_outs[0].radius_mm", ROUTE | {"keep_outs": [{"shape": "ball", "centre_mm": [0, 0, 0]}]}),
    ("route", "keep_outs[0].radius_mm", ROUTE | {"keep_outs": [CRATE | {"radius_mm": 5}]}),
    ("route", "keep_outs[0].axes", ROUTE | {"keep_outs": [CRATE | {"axes": [[1, 0, 0]] * 3}]}),
    ("route", "keep_outs[0].axes", ROUTE | {"keep_outs": [CRATE | {"axes": [[0, 0, 0]] * 3}]}),
    ("route", "keep_outs[0].gap_mm", ROUTE | {"keep_outs": [CRATE | {"gap_mm": -1}]}),
    ("trilateration", "tapes", {"tapes": GOOD["trilateration"]["tapes"][:2]}),
    ("trilateration", "tapes[0].distance_mm", {"tapes": [TAPE | {"distance_mm": -1}, TAPE, TAPE]}),
    ("trilateration", "tapes[2].point_mm", {"tapes": [TAPE, TAPE, TAPE | {"point_mm": [1, 2]}]}),
    ("splice", "fixed.vertices_mm", SPLICE | {"fixed": {"vertices_mm": [[0, 0, 0]], "radii_mm": []}}),
    ("splice", "fixed.vertices_mm[1]", SPLICE | {"fixed": {"vertices_mm": [[0, 0, 0]] * 2, "radii_mm": []}}),
    ("splice", "fixed.radii_mm", SPLICE | {"fixed": FIXED | {"radii_mm": [95]}}),
    ("splice", "fixed.colour", SPLICE | {"fixed": FIXED | {"colour": 1}}),
    ("splice", "turning.holes", SPLICE | {"turning": FIXED | {"holes": -1}}),
    ("splice", "turning.holes", SPLICE | {"turning": FIXED}),
    ("splice", "turning.vertices_mm[1][2]", SPLICE | {"turning": {"vertices_mm": [[0, 0, 0], [1, 0, "up"]]}}),
    ("splice", "turning.vertices_mm", SPLICE | {"turning": {"vertices_mm": [[0, 0, z] for z in range(99)]}}),
    ("splice", "saw_limit_deg", SPLICE | {"saw_limit_deg": 90}),
    ("splice", "most_pie_cuts", SPLICE | {"most_pie_cuts": 3}),
    ("cut-plan", "stock[0].length_mm", PLAN | {"stock": [{"length_mm": 0}]}),
    ("cut-plan", "stock[0].count", PLAN | {"stock": [{"length_mm": 100, "count": -1}]}),
    ("cut-plan", "stock[0].count", PLAN | {"stock": [{"length_mm": 100, "count": 1.5}]}),
    ("cut-plan", "stock[0].price", PLAN | {"stock": [{"length_mm": 100, "price": -1}]}),
    ("cut-plan", "stock[1].price", PLAN | {"stock": [{"length_mm": 100, "price": 5}, {"length_mm": 50}]}),
    ("cut-plan", "stock", PLAN | {"stock": []}),
    ("cut-plan", "pieces", PLAN | {"pieces": []}),
    ("cut-plan", "pieces", PLAN | {"pieces": [{"length_mm": 5, "count": 9000}] * 2}),
    ("cut-plan", "pieces[0].count", PLAN | {"pieces": [{"length_mm": 5, "count": 1e9}]}),
    ("cut-plan", "pieces[0].count", PLAN | {"pieces": [{"length_mm": 5}]}),
    ("cut-plan", "pieces[0].length_mm", PLAN | {"pieces": [{"length_mm": -5, "count": 1}]}),
    ("cut-plan", "kerf_mm", PLAN | {"kerf_mm": -1}),
    ("schedule", "tasks", SCHEDULE | {"tasks": []}),
    ("schedule", "tasks[1].name", planned({}, {})),
    ("schedule", "tasks[0].after[0]", planned({"after": ["nobody"]})),
    ("schedule", "tasks[0].after", planned({"after": ["a"]})),
    ("schedule", "tasks[0].uses", planned({"uses": {"builder": 2}})),
    ("schedule", "tasks[0].uses", planned({"uses": {"lift": 1}})),
    ("schedule", "tasks[0].uses.builder", planned({"uses": {"builder": -1}})),
    ("schedule", "resources.builder", SCHEDULE | {"resources": {"builder": 0.5}}),
    ("schedule", "tasks[0].hours", planned({"hours": -1})),
    ("schedule", "tasks[0].hours", planned({"hours": None})),
    ("schedule", "tasks[0].hours_low", planned({"hours_low": 1})),
    ("schedule", "tasks[0].hours_high", planned({"hours": None, "hours_low": 1, "hours_likely": 2})),
    ("schedule", "tasks[0].hours_likely", planned({"hours": None} | three(3, 2, 4))),
    ("schedule", "tasks[0].hours_high", planned({"hours": None} | three(1, 4, 2))),
    ("schedule", "tasks[0].hours_low", planned({"hours": None} | three(-1, 4, 5))),
    ("schedule", "iterations", SCHEDULE | {"iterations": 0}),
    ("schedule", "iterations", SCHEDULE | {"iterations": 10**7}),
    ("schedule", "seed", SCHEDULE | {"seed": 1.5}),
    ("reading", "text", {"text": "banana", "kind": "length"}),
    ("reading", "text", {"text": "", "kind": "length"}),
    ("reading", "text", {"text": "9" * 10_000, "kind": "length"}),
    ("reading", "text", {"text": "1/0 in", "kind": "length"}),
    ("reading", "text", {"text": "5 <script>", "kind": "flow"}),
    ("reading", "kind", {"text": "5 mm", "kind": "colour"}),
    ("reading", "unit", {"text": "5", "kind": "length", "unit": "psi"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "field", "body"), [case[1:] for case in hostile()], ids=[case[0] for case in hostile()]
)
def test_a_bad_body_is_refused_in_the_one_shape(bench: Browser, name: str, field: str, body: bytes) -> None:
    assert field in refusal(send(bench, name, body))


@pytest.mark.parametrize(("name", "field", "asked"), NAMED)
def test_the_field_at_fault_is_named(bench: Browser, name: str, field: str, asked: object) -> None:
    assert field in refusal(send(bench, name, json.dumps(asked).encode()))


@pytest.mark.parametrize(
    "body",
    [
        b'{"elevation_m": NaN}',
        b'{"elevation_m": -Infinity}',
        b'{"elevation_m": 1e999}',
        b'{"elevation_m": ' + b"9" * 5000 + b"}",
        b'{"elevation_m": 1, "elevation_m": 2}',
        b'{"elevation_m": 1, "\\ud800": 2}',
        b'{"elevation_m": 1}' + b" " * 3_000_000,
    ],
    ids=["NaN", "Infinity", "1e999", "5000 digits", "twice", "half a character", "3 MB"],
)
def test_numbers_and_texts_that_json_should_not_hold_are_refused(bench: Browser, body: bytes) -> None:
    refusal(send(bench, "atmosphere", body))


def test_a_sum_says_all_its_faults_at_once(bench: Browser) -> None:
    found = refusal(send(bench, "compressor", b"{}"))
    assert set(found) == set(GOOD["compressor"])
    assert found["flow_kg_s"]["accepts"] == "a number from 0.000001 to 100 kg/s, such as 0.25"


NUMBERS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.floats(min_value=-10, max_value=1000),
    st.integers(-(10**30), 10**30),
)
JSON = st.recursive(
    st.one_of(st.none(), st.booleans(), NUMBERS, st.text(max_size=12)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=6,
)


@st.composite
def bodies(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """A sum, and a body in which most fields may be anything."""
    name = draw(st.sampled_from(sorted(GOOD)))
    good = GOOD[name]
    body = {field: draw(st.one_of(st.just(value), NUMBERS, JSON)) for field, value in good.items()}
    if name == "tube" and draw(st.booleans()):
        body["bends"] = draw(
            st.lists(st.fixed_dictionaries({"angle_deg": NUMBERS, "radius_mm": NUMBERS}), max_size=3)
        )
    if name == "reading":
        body["kind"] = draw(st.sampled_from(["length", "pressure", "flow", "size", "ratio", "time"]))
        body["text"] = draw(
            st.one_of(st.text(max_size=20), st.from_regex(r"[-−+]?[0-9./,]{1,6} ?(mm|in|psi|%|AN)?"))
        )
    return name, body


@given(bodies())
@settings(max_examples=3_000 if WHOLE else 120)
def test_no_body_brings_a_sum_down(bench: Browser, case: tuple[str, dict[str, Any]]) -> None:
    name, body = case
    answer = send(bench, name, json.dumps(body).encode())
    assert answer.status_code in (200, 422), answer.text
    if answer.status_code == 422:
        refusal(answer)


def in_bounds(name: str) -> st.SearchStrategy[dict[str, float]]:
    """Numbers anywhere within what a sum accepts, its edges included."""
    fields = {}
    for field, info in BENCH[name][0].model_fields.items():
        bounds = {type(one).__name__: one for one in info.metadata}
        if "Le" in bounds:
            fields[field] = st.floats(bounds["Ge"].ge, bounds["Le"].le)
    return st.fixed_dictionaries(fields)


@pytest.mark.parametrize(
    "name",
    [
        "atmosphere",
        "air-demand",
        "compressor",
        "tube",
        "step",
        "blow-off",
        "hoop",
        "growth",
        "radiant",
        "mitre",
        "offset",
    ],
)
@given(data=st.data())
def test_every_number_that_is_accepted_gets_an_answer_or_a_reason(
    bench: Browser, name: str, data: st.DataObject
) -> None:
    body: dict[str, Any] = dict(data.draw(in_bounds(name)))
    if name == "tube":
        bend = st.fixed_dictionaries({
            "angle_deg": st.floats(0.01, 360), "radius_mm": st.floats(0.1, 1e5)
        })  # fmt: skip
        body["bends"] = data.draw(st.lists(bend, max_size=2))
    if name == "mitre":
        body |= {"cuts": data.draw(st.integers(1, 60)), "ordinates": data.draw(st.integers(4, 360))}
    if name == "growth":
        body["material"] = data.draw(st.sampled_from(METAL_NAMES))
    if name == "radiant":
        body["shield"] = data.draw(st.sampled_from(["none", "bright"]))
    found = ask(bench, name, body)
    numbers = [value for key, value in found.items() if key not in {"notes", "reason"}]
    assert found["reason"] or None not in numbers[:1]
