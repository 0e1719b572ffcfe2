"""Asks the bench sums as a script does, and holds one good body for each."""

import json
from collections.abc import Mapping
from typing import Any

import httpx

from tests.asking import Browser

GOOD: Mapping[str, dict[str, Any]] = {
    "reading": {"text": "3 1/4 in", "kind": "length"},
    "combine": {
        "readings": [{"value_mm": 82.5, "doubt_mm": 0.2}, {"value_mm": 82.7, "doubt_mm": 0.1}],
        "instrument_floor_mm": 0.05,
    },
    "atmosphere": {"elevation_m": 500},
    "air-demand": {
        "displacement_cc": 2000,
        "rpm": 6000,
        "volumetric_efficiency": 0.95,
        "manifold_pressure_kpa": 200,
        "manifold_temperature_c": 45,
    },
    "compressor": {
        "inlet_pressure_kpa": 100,
        "inlet_temperature_c": 12,
        "pressure_ratio": 8,
        "efficiency": 0.8,
        "flow_kg_s": 0.2,
    },
    "tube": {
        "bore_mm": 60.3,
        "length_mm": 600,
        "roughness_mm": 0.0015,
        "bends": [{"angle_deg": 90, "radius_mm": 95}],
        "flow_kg_s": 0.25,
        "pressure_kpa": 200,
        "temperature_c": 50,
    },
    "step": {"bore_in_mm": 50, "bore_out_mm": 60},
    "blow-off": {"outside_diameter_mm": 63.5, "gauge_kpa": 150},
    "leak": {
        "volume_cc": 40000,
        "boost_kpa": 100,
        "outside_kpa": 100,
        "leak_kg_s": 0.0001,
        "step_kpa": 5,
        "before_c": 22,
        "after_c": 20,
    },
    "hoop": {"outside_diameter_mm": 300, "wall_mm": 1, "gauge_kpa": 1000},
    "growth": {"material": "304 stainless", "length_mm": 1000, "from_c": 20, "to_c": 600},
    "radiant": {
        "hot_c": 600,
        "hot_emissivity": 0.8,
        "hot_diameter_mm": 76.1,
        "gap_mm": 50,
        "neighbour_emissivity": 0.9,
        "neighbour_width_mm": 100,
        "ambient_c": 60,
        "film_w_m2_k": 10,
    },
    "mitre": {
        "outside_diameter_mm": 273,
        "bend_deg": 90,
        "cuts": 4,
        "centreline_radius_mm": 381,
        "ordinates": 16,
        "paper_mm": 0.1,
    },
    "offset": {"rise_mm": 12, "offset_mm": 16, "fitting_deg": 45},
    "bend-table": {
        "vertices_mm": [[0, 0, 0], [200, 0, 0], [200, 261.421, 0], [144.062, 373.297, 96.887]],
        "radii_mm": [100, 100],
    },
    "flange": {
        "holes": 4,
        "circle_mm": 110,
        "hole_mm": 10.5,
        "bore_mm": 76.1,
        "outside_mm": 140,
    },
    "compound-cut": {"left_deg": 45, "up_deg": 45, "outside_diameter_mm": 63.5},
    "trilateration": {
        "tapes": [
            {"point_mm": [0, 0, 0], "distance_mm": 405.0926, "doubt_mm": 0.5},
            {"point_mm": [800, 0, 0], "distance_mm": 555.0676, "doubt_mm": 0.5},
            {"point_mm": [0, 600, 0], "distance_mm": 510.0, "doubt_mm": 0.5},
        ]
    },
    "splice": {
        "fixed": {"vertices_mm": [[0, 0, 0], [400, 0, 0]], "radii_mm": []},
        "turning": {"vertices_mm": [[250, 300, 0.4], [250, -100, 0.4]], "radii_mm": [], "holes": 4},
        "outside_diameter_mm": 60,
        "most_pie_cuts": 0,
        "saw_limit_deg": 45,
        "shortest_throat_mm": 10,
        "axis_gap_limit_mm": 0.8,
    },
    "cut-plan": {
        "stock": [{"length_mm": 2000, "price": 24.5}, {"length_mm": 640, "count": 1, "price": 0}],
        "pieces": [{"length_mm": 765, "count": 2}, {"length_mm": 410, "count": 3}],
        "kerf_mm": 3,
    },
    "schedule": {
        "tasks": [
            {"name": "strip", "hours": 2, "uses": {"builder": 1}},
            {
                "name": "cut",
                "hours_low": 1,
                "hours_likely": 2,
                "hours_high": 9,
                "after": ["strip"],
                "uses": {"builder": 1},
            },
            {"name": "clean", "hours": 2, "after": ["strip"], "uses": {"builder": 1}},
        ],
        "resources": {"builder": 1},
        "iterations": 100,
        "seed": 1,
    },
    "route": {
        "start": {"point_mm": [0, 0, 0], "direction": [1, 0, 0]},
        "end": {"point_mm": [300, 200, 0], "direction": [1, 0, 0]},
        "bends": [
            {"radius_mm": 100, "angle_deg": 90, "may_cut_down": False, "leg_in_mm": 0, "leg_out_mm": 0}
        ],
        "shortest_straight_mm": 0,
        "outside_diameter_mm": 50,
        "most_bends": 2,
        "keep_outs": [{"shape": "ball", "centre_mm": [300, 0, 0], "radius_mm": 40, "gap_mm": 5}],
    },
}


AMOUNTS = frozenset({"uses", "resources"})
"""Fields in which a number stands behind each name."""


def as_typed(asked: Mapping[str, Any], before: str = "") -> dict[str, str]:
    """What a person types for a script's body: objects and rows by field, points one after the other."""
    typed: dict[str, str] = {}
    for key, value in asked.items():
        name = before + key
        if key in AMOUNTS:
            typed[name] = ", ".join(f"{one} {count}" for one, count in value.items())
        elif isinstance(value, dict):
            typed |= as_typed(value, f"{name}.")
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            for at, row in enumerate(value):
                typed |= as_typed(row, f"{name}[{at}].")
        elif isinstance(value, list):
            typed[name] = "; ".join(map(written, value))
        elif isinstance(value, bool):
            typed[name] = "yes" if value else ""
        else:
            typed[name] = value if isinstance(value, str) else repr(value)
    return typed


def written(value: object) -> str:
    if isinstance(value, str):
        return value
    return " ".join(map(repr, value)) if isinstance(value, list) else repr(value)


def send(bench: Browser, name: str, body: bytes) -> httpx.Response:
    headers = {"content-type": "application/json"}
    return bench.runner.run(bench.client.post(f"/sums/{name}", content=body, headers=headers))


def ask(bench: Browser, name: str, asked: object) -> dict[str, Any]:
    answer = send(bench, name, json.dumps(asked).encode())
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def refusal(answer: httpx.Response) -> dict[str, dict[str, str]]:
    """The errors by field, once the body has been seen to have exactly the one shape."""
    assert answer.status_code == 422, answer.text
    assert set(answer.json()) == {"errors"}
    errors = answer.json()["errors"]
    assert errors
    for error in errors:
        assert set(error) == {"field", "message", "accepts"}
        assert all(isinstance(text, str) for text in error.values())
        assert error["message"], error
        assert error["accepts"], error
    return {error["field"]: error for error in errors}
