"""A folder that an earlier rule published, kept as it was: which numbers would be others today, and why.

``data/published_by_working_2`` was written when the rule was ``working 2``: the demonstration's joints on
maple and their mount. Page, PDF and figures were left out to keep it small; a line stands in place of the page.
"""

import json
import shutil
from pathlib import Path

import pytest

from jointlab.app.cli import main

OLD = Path(__file__).parent / "data" / "published_by_working_2"


@pytest.fixture
def old(tmp_path):
    return shutil.copytree(OLD, tmp_path / "old")


def test_it_is_told_which_numbers_changed_and_why(old, capsys):
    assert main(["publish", str(old), "--check"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert any(line.startswith("note: made by jointlab 0.1.0") for line in lines)
    changed = [line.removeprefix("changed since: ") for line in lines if line.startswith("changed since: ")]
    assert changed[0].startswith("the bounds were given by rule 'working 2', today's is 'working ")
    assert any("bound_mpa (yellow wood glue hard maple scrap" in line and "2.84918" in line for line in changed)
    assert any("mounts/bowl_on_maple.json, margin_lower: it says 2." in line for line in changed)
    assert "Every number is what the pulls give" not in lines[-1]
    assert lines[-1].startswith("Its files are as they were described")


def test_a_changed_byte_of_an_old_folder_is_found_all_the_same(old, capsys):
    path = old / "pulls.csv"
    path.write_bytes(path.read_bytes().replace(b"broke", b"bROKE", 1))
    assert main(["publish", str(old), "--check", "--json"]) == 3
    told = json.loads(capsys.readouterr().out)
    assert not told["sound"]
    assert told["differences"][0].startswith("pulls.csv")
