"""Comparisons on the page are the command line's."""

import json
from pathlib import Path

import pytest

from jointlab.app import workflow
from jointlab.app.cli import main
from jointlab.app.web.rendering import figured as figures

DEMO = Path(__file__).parents[4] / "datasets" / "demo"


@pytest.fixture
def filled(door):
    workflow.import_file(door.shop.place, DEMO / "pulls.csv")
    return door


def test_nothing_to_compare_is_said_plainly(door):
    answer = door.get("/compare")
    assert answer.status_code == 200
    assert "nothing to compare" in answer.text


def test_ratios_and_letters_are_the_command_lines(filled, capsys):
    drawn = filled.client.get("/compare/effects-1.svg?confidence=0.95")
    assert b"<svg" in drawn.content
    text = filled.get("/compare").text
    capsys.readouterr()
    main(["compare", "--book", filled.shop.place, "--json"])
    told = json.loads(capsys.readouterr().out)["comparisons"]
    for comparison in told:
        for one in comparison["combinations"]:
            assert f'<td>{one["letters"]}</td><td class="number">{figures(one["median_mpa"])}</td>' in text
        for effect in comparison["effects"]:
            ratio = effect["ratio"]
            said = f"{figures(ratio['lower'])} to {figures(ratio['upper'])}"
            assert f'<td class="number">{figures(ratio["value"])}</td><td>{said}</td>' in text
    assert b"<svg" in filled.client.get("/compare/breaks-1.svg").content
    assert filled.client.get("/compare/effects-99.svg").status_code == 404
    assert filled.client.get("/compare/other-1.svg").status_code == 404


@pytest.mark.parametrize(
    ("asked", "field"),
    [("analysis=magic", "analysis"), ("control=none", "control"), ("confidence=2", "confidence"), ("plan=x", "plan"),
     ("trend=moon", "trend")],
)  # fmt: skip
def test_what_cannot_be_compared_is_told_beside_its_field(filled, asked, field):
    answer = filled.get(f"/compare?glue=hot+melt&{asked}")
    assert answer.status_code in (404, 422)
    assert f'id="{field}-wrong"' in answer.text
