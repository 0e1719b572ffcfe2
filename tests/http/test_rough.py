"""A chance that may be points off is called rough wherever it is printed."""

import io
from collections import OrderedDict

import pytest
from pypdf import PdfReader

from server.core.checks import answer
from server.features.builds import service as builds
from tests.asking import Browser

INTAKE = 1


@pytest.fixture
def all_rough(demo: Browser, monkeypatch: pytest.MonkeyPatch) -> Browser:
    """The demo with nothing fine enough, and nothing kept of or for a finer one."""
    for memory in ("_of_builds", "_of_steps", "_by_input", "_beginnings"):
        monkeypatch.setattr(builds, memory, OrderedDict())
    monkeypatch.setattr(answer, "_told_off", lambda off: max(off, 0.031))
    return demo


def test_design_page_json_and_dossier_mark_it(all_rough: Browser) -> None:
    page = all_rough.get_json(f"/builds/1/subsystems/{INTAKE}/dossier")
    where = f"/builds/1/designs/{page['design_id']}"
    lines = [*all_rough.get_json(where)["passed_checks"], *all_rough.get_json(where)["open_checks"]]
    printed = [one["verdict"] for one in lines if one["verdict"]["percent"] is not None]
    assert printed
    assert all(verdict["rough"] for verdict in printed)
    words = "Rough: counted on drawn readings, its chance may be 4 points off."
    percent = printed[0]["percent"]
    assert f"{percent} % rough</span>" in all_rough.get(where).text
    assert words in all_rough.get(where).text
    assert any(one["chance"].endswith("% rough") for one in page["checks"])
    paper = PdfReader(io.BytesIO(all_rough.get(f"/builds/1/subsystems/{INTAKE}/dossier.pdf").content))
    text = " ".join(" ".join(sheet.extract_text().split()) for sheet in paper.pages)
    assert f"GO {percent} % ROUGH" in text
    assert words in text


def test_a_chance_that_is_fine_enough_is_not_marked(demo: Browser) -> None:
    page = demo.get(f"/builds/1/subsystems/{INTAKE}/dossier").text
    assert " % rough" not in page
    assert "Rough:" not in page
