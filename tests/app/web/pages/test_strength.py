"""Strengths on the page are the command line's; long work shows progress and goes on when it is left."""

import json
import threading
from pathlib import Path

import pytest

from jointlab.app import workflow
from jointlab.app.cli import main
from jointlab.app.web.rendering import figured as figures

DEMO = Path(__file__).parents[4] / "datasets" / "demo"
PART = {"headers": {"hx-request": "true"}}


@pytest.fixture
def filled(door):
    workflow.import_file(door.shop.place, DEMO / "pulls.csv")
    with workflow.open_book(door.shop.place) as book:
        door.one = book.combinations()[0].combination
    return door


def query(one):
    return {"glue": one.glue, "substrate": one.substrate}


def test_an_empty_book_is_no_error(door):
    assert "There are no pulls yet" in door.get("/strength").text
    assert "No pull matches" in door.get("/strength?glue=hide").text
    assert door.client.get("/strength/strengths.svg").status_code == 422


def test_a_share_that_is_none_is_told_beside_its_field(door):
    answer = door.get("/strength?coverage=2&confidence=x")
    assert answer.status_code == 422
    assert 'id="coverage-wrong"' in answer.text
    assert 'id="confidence-wrong"' in answer.text


def test_bounds_and_families_are_the_command_lines(filled, capsys):
    asked = query(filled.one)
    drawn = filled.client.get("/strength/strengths.svg", params=asked)
    text = filled.get("/strength", params=asked).text
    capsys.readouterr()
    flags = [word for name, value in asked.items() for word in (f"--{name}", value)]
    main(["strength", *flags, "--book", filled.shop.place, "--json"])
    told = json.loads(capsys.readouterr().out)["combinations"]
    assert len(told) == 1
    assert f'<td class="number">{figures(told[0]["working_bound"]["bound_mpa"])}</td>' in text
    for bound in told[0]["bounds"]:
        assert f'<td class="number">{figures(bound["bound_mpa"], 4)}</td>' in text
    assert b"<svg" in drawn.content
    assert b"<svg" in filled.client.get("/strength/plot-1.svg", params=asked).content
    assert filled.client.get("/strength/plot-9.svg", params=asked).status_code == 422


def test_long_work_shows_progress_can_be_left_and_is_found_again(filled, monkeypatch):
    begun, go_on = threading.Event(), threading.Event()
    worked_out = []

    def slowly(pulls, *, progress, **_):
        for _ in progress(("a", "b"), "combinations"):
            worked_out.append(1)
            begun.set()
            go_on.wait(20)
        return ()

    monkeypatch.setattr(workflow, "strengths_of", slowly)
    monkeypatch.setattr("jointlab.app.publishing.publication_of", lambda *_: type("Empty", (), {"plots": ()}))
    text = filled.get("/strength").text
    assert begun.is_set()
    assert "0 of 2 done" in text
    assert 'hx-trigger="load delay:1s"' in text
    go_on.set()
    filled.client.get("/strength/strengths.svg")
    assert "Working" not in filled.get("/strength", **PART).text
    assert len(worked_out) == 2
