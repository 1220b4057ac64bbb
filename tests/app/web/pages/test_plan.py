"""Plans in the browser are the command line's: made, kept, printed, followed."""

import csv
import io
import json
from pathlib import Path
from urllib.parse import urlencode

import pytest

from jointlab.app.cli import main

WISH = {
    "combinations": "pva on maple\nepoxy on maple (sanded)",
    "expected_mpa": "4,5",
    "glued_from": "2026-04-01",
    "each": "2",
}
NAMED = WISH | {"name": "spring"}
WORDS = ["plan", "--combination", "pva on maple", "--combination", "epoxy on maple (sanded)", "--expected_mpa", "4.5"]


def told(capsys, *words):
    capsys.readouterr()
    main([*words, "--json"])
    return json.loads(capsys.readouterr().out)


def test_a_plan_is_made_from_the_address_and_nothing_is_kept(door, capsys):
    door.client.get(f"/plan/to-fill.csv?{urlencode(WISH)}")
    text = door.get(f"/plan?{urlencode(WISH)}").text
    made = told(capsys, *WORDS, "--glued_from", "2026-04-01", "--each", "2", "--book", door.shop.place)
    assert (
        f"{made['specimens_each']} specimens of each of 2 combinations in 2 glue-ups: {made['chance']:.0%}"
        in text.replace(" %", "%")
    )
    for glue_up in made["glue_ups"]:
        for one in glue_up["specimens"]:
            assert f"{glue_up['batch']}/{one['specimen']}</th>" in text
    assert "Plans of this book" not in text


def test_a_kept_plan_is_listed_printed_and_followed(door):
    door.get("/plan")
    answer = door.post("/plan/keep", NAMED)
    assert str(answer.url).endswith("/plan/kept?name=spring")
    assert "0 of 8 pulled, 0 of 2 glue-ups complete" in answer.text
    assert "spring</strong></a>: 0 of 8 pulled" in door.get("/plan").text
    assert door.client.get("/plan/sheets.pdf?kept=spring").content[:5] == b"%PDF-"
    table = list(csv.DictReader(io.StringIO(door.client.get("/plan/to-fill.csv?kept=spring").text)))
    assert {row["batch"] for row in table} == {"spring-1", "spring-2"}
    assert len(table) == 8
    assert b"<svg" in door.client.get("/plan/power.svg?kept=spring").content
    first = table[0]
    door.record(
        **{name: first[name] for name in ("batch", "specimen", "glue", "substrate")}, preparation=first["preparation"]
    )
    assert "1 of 8 pulled" in door.get("/plan/kept?name=spring").text


def test_a_kept_plan_changes_only_for_a_reason(door):
    door.get("/plan")
    door.post("/plan/keep", NAMED)
    again = door.post("/plan/keep", NAMED | {"each": "3"})
    assert again.status_code == 422
    assert "Why the kept plan changes" in again.text
    assert "Revision 2" in door.post("/plan/keep", NAMED | {"each": "3", "reason": "more clamps"}).text


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"combinations": "pva"}, "combinations"), ({"expected_mpa": "strong"}, "expected_mpa"), ({"each": "2.5"}, "each"),
     ({"rig": "none"}, ""), ({"glued_from": "soon"}, "glued_from")],
)  # fmt: skip
def test_what_cannot_be_planned_is_told_and_kept(door, changed, field):
    answer = door.get(f"/plan?{urlencode(WISH | changed)}")
    assert answer.status_code in (404, 422)
    assert "Put this right first" in answer.text
    assert not field or f'id="{field}-wrong"' in answer.text
    assert "maple" in answer.text or "combinations" in changed


def test_a_plan_that_is_not_there_is_said(door):
    assert door.get("/plan/kept?name=none").status_code == 404
    assert door.post("/plan/keep", WISH).status_code == 422


def test_a_plan_says_what_earlier_looks_left_of_the_doubt(door, place):
    from jointlab.app import workflow

    workflow.import_file(place, Path("datasets/demo/pulls.csv"))
    asked = "/plan?combinations=yellow+wood+glue+on+hard+maple+scrap&expected_mpa=4&glued_from=2026-04-01&each=6"
    assert "was looked at before" not in door.get(asked).text
    workflow.decide_mount(place, Path("datasets/demo/mounts/bowl_on_maple.toml"))
    assert "was looked at before: 1 look left 50 % of the doubt" in door.get(asked).text
    fields = {"combinations": "yellow wood glue on hard maple scrap", "expected_mpa": "4", "glued_from": "2026-04-01"}
    kept = door.post("/plan/keep", fields | {"each": "6", "name": "again"})
    assert "was looked at before: 1 look left 50 % of the doubt" in kept.text
