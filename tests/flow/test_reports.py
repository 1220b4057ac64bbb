"""The committed reports are what the program makes of datasets/ today."""

import importlib.util
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory):
    spec = importlib.util.spec_from_file_location("rebuild", ROOT / "reports" / "rebuild.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    folder = tmp_path_factory.mktemp("reports")
    module.rebuild(folder)
    return folder


def without_drawings(page):
    """The page's text and numbers; how a curve is drawn may differ between versions of the drawing library."""
    return re.sub(r"<svg.*?</svg>", "<svg/>", page, flags=re.S)


def test_the_page_of_the_demo_is_up_to_date(rebuilt):
    committed = (ROOT / "reports" / "demo" / "index.html").read_text(encoding="utf-8")
    made = (rebuilt / "demo" / "index.html").read_text(encoding="utf-8")
    assert without_drawings(made) == without_drawings(committed)
    assert made.count("<svg") == committed.count("<svg") > 5


def test_the_published_pulls_of_the_demo_are_up_to_date(rebuilt):
    assert (rebuilt / "demo" / "pulls.csv").read_bytes() == (ROOT / "reports" / "demo" / "pulls.csv").read_bytes()


def test_the_picture_in_readme_is_drawn(rebuilt):
    assert (rebuilt / "demo" / "strengths.png").read_bytes().startswith(b"\x89PNG")


def test_the_two_way_analysis_of_the_bond_loads_is_up_to_date(rebuilt):
    committed = (ROOT / "reports" / "compare" / "bond_loads.md").read_text(encoding="utf-8")
    assert (rebuilt / "compare" / "bond_loads.md").read_text(encoding="utf-8") == committed


def test_the_pictures_of_the_comparison_are_drawn(rebuilt):
    for name in ("effects.png", "breaks.png", "power.png"):
        assert (rebuilt / "compare" / name).read_bytes().startswith(b"\x89PNG")
        assert (ROOT / "reports" / "compare" / name).stat().st_size > 10_000
