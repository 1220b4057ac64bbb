"""The committed reports are what the program makes of datasets/ today."""

import csv
import importlib.util
import io
import json
import re
import zipfile
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from jointlab.app.cli import main
from jointlab.plan import SeeDifference, Terms, plan_tests
from jointlab.record.joint import Combination

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


def test_the_package_of_the_demo_is_whole_and_its_numbers_up_to_date(rebuilt):
    committed, made = (folder / "demo" for folder in (ROOT / "reports", rebuilt))
    names = [
        {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
        for folder in (committed, made)
    ]
    assert names[0] == names[1]
    for table in ("strengths.csv", "bounds.csv", "families.csv"):
        rows = [
            list(csv.reader((folder / table).read_text(encoding="utf-8").splitlines())) for folder in (committed, made)
        ]
        assert len(rows[0]) == len(rows[1]) > 1
        for said, given in zip(*rows, strict=True):
            assert [rounded(cell) for cell in said] == [rounded(cell) for cell in given]


def test_the_package_of_the_demo_is_what_its_own_pulls_give(rebuilt, capsys):
    assert main(["publish", str(rebuilt / "demo"), "--check"]) == 0
    assert "Every number is what the pulls give." in capsys.readouterr().out


def rounded(cell):
    """A number to nine digits: another machine rounds the last ones otherwise."""
    try:
        return f"{float(cell):.9g}"
    except ValueError:
        return cell


def test_the_picture_in_readme_is_drawn(rebuilt):
    assert (rebuilt / "demo" / "figures" / "strengths.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("name", ["bond_loads.md", "studies.md"])
def test_the_reports_of_the_comparison_are_up_to_date(rebuilt, name):
    committed = (ROOT / "reports" / "compare" / name).read_text(encoding="utf-8")
    assert (rebuilt / "compare" / name).read_text(encoding="utf-8") == committed


def study(name):
    with (ROOT / "reports" / "compare" / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_measured_coverage_keeps_the_family_wise_error_but_where_it_is_said():
    cells = study("coverage.csv")
    assert len(cells) >= 36
    over = [row for row in cells if float(row["coverage"]) < 0.943]
    assert {(row["spreads"], row["n"], row["held"], row["glue_ups"]) for row in over} <= {
        ("unequal", "10", "0.2", "blocks")
    }
    assert min(float(row["coverage"]) for row in cells) > 0.93


def test_plans_reach_what_they_promise_within_two_points():
    plans = study("plan_power.csv")
    assert len(plans) >= 8
    assert max(abs(float(row["reached"]) - float(row["promised"])) for row in plans) < 0.02
    # The promise of the first plan of the table is what a plan made today promises.
    terms = Terms("Study", "2026-03-02", planned_looks=1)
    pair = [Combination("glue", "0"), Combination("glue", "1")]
    made = plan_tests(pair, wish=SeeDifference(1.5, 4.0, log_sd=0.2), terms=terms, rng=np.random.default_rng(1))
    assert plans[0]["wish"] == "see 1.5 at 0.2"
    assert made.chance == pytest.approx(float(plans[0]["promised"]), abs=5e-5)
    assert made.specimens_each == int(plans[0]["specimens_each"])


def test_the_pictures_of_the_comparison_are_drawn(rebuilt):
    for name in ("effects.png", "breaks.png", "power.png"):
        assert (rebuilt / "compare" / name).read_bytes().startswith(b"\x89PNG")
        assert (ROOT / "reports" / "compare" / name).stat().st_size > 10_000


def test_the_package_of_the_336_bond_loads_is_what_the_loads_give(rebuilt, tmp_path, capsys):
    committed, made = (folder / "bond_loads" / "bond_loads.zip" for folder in (ROOT / "reports", rebuilt))
    assert committed.stat().st_size < 2_000_000
    with zipfile.ZipFile(committed) as one, zipfile.ZipFile(made) as other:
        assert one.namelist() == other.namelist()
        assert one.read("bond_loads/pulls.csv") == other.read("bond_loads/pulls.csv")
        for table in ("strengths.csv", "bounds.csv", "families.csv"):
            said, given = (
                list(csv.reader(packed.read(f"bond_loads/{table}").decode().splitlines())) for packed in (one, other)
            )
            assert len(said) == len(given) > 42
            for row, now in zip(said, given, strict=True):
                assert [rounded(cell) for cell in row] == [rounded(cell) for cell in now]
        other.extractall(tmp_path)
    assert main(["publish", str(tmp_path / "bond_loads"), "--check"]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "Every number is what the pulls give."


def test_the_pooled_example_of_six_invented_shops_is_up_to_date(rebuilt):
    committed, made = (folder / "pool" for folder in (ROOT / "reports", rebuilt))
    pages = [without_drawings((folder / "index.html").read_text(encoding="utf-8")) for folder in (committed, made)]
    assert pages[0] == pages[1]
    before, now = (json.loads((folder / "pooled.json").read_text(encoding="utf-8")) for folder in (committed, made))
    assert len(now["shops"]) == 6
    assert now["decisions"] == before["decisions"]
    bounds = [[each["next_joint_mpa"] for each in told["combinations"]] for told in (now, before)]
    assert bounds[0] == pytest.approx(bounds[1], rel=1e-9)
    assert now["field"] == before["field"] != []
    sheets = [(folder / "pool" / "wall-a4.pdf").read_bytes() for folder in (ROOT / "reports", rebuilt)]
    texts = [" ".join(page.extract_text() for page in PdfReader(io.BytesIO(sheet)).pages) for sheet in sheets]
    assert texts[0] == texts[1]
