"""The field record in the browser: taken up, followed, ended."""

import tomllib
from pathlib import Path

import pytest

from jointlab.app import mounting, workflow
from jointlab.app.web.mount_state import state_of_document

DEMO = Path(__file__).parents[4] / "datasets" / "demo"
MOUNT = DEMO / "mounts" / "bowl_on_maple.toml"
STATE = state_of_document(tomllib.loads(MOUNT.read_text()), name="bowl")


@pytest.fixture
def taken(door):
    workflow.import_file(door.shop.place, DEMO / "pulls.csv")
    answer = door.post("/mounts/start", {"name": "bowl", **STATE.texts})
    assert answer.url.path == "/mounts/one"
    return door


def test_a_mount_is_taken_up_with_the_verdict_of_the_command_line(taken, tmp_path):
    record = mounting.field_record(taken.shop.place, "bowl")[0]
    said = workflow.decide_mount(taken.shop.place, MOUNT).verdict
    assert record.predicted.margin_lower == said.margin_lower
    assert record.predicted.verdict == said.verdict == "pass"
    assert ">bowl</a>" in taken.get("/mounts").text
    assert b"<svg" in taken.client.get("/mounts/happened.svg").content
    again = taken.post("/mounts/start", {"name": "bowl", **STATE.texts})
    assert (again.status_code, "Not taken up" in again.text) == (422, True)


def test_a_catch_voids_the_verdict_and_the_ending_is_kept(taken):
    caught = taken.post("/mounts/event", {"mount": "bowl", "phase": "hollowing", "hours": "0,5", "firm": "1"})
    assert "The verdict is void" in caught.text
    assert 'hollowing <data value="0.5">0.5</data> h 1 firm catch' in caught.text
    ended = taken.post("/mounts/end", {"mount": "bowl", "end": "finished", "removal": "parted"})
    assert "finished, block parted" in ended.text
    assert mounting.field_record(taken.shop.place, "bowl")[0].ended.end == "finished"


def test_what_cannot_be_kept_is_told_and_stays_typed(taken):
    answer = taken.post("/mounts/event", {"mount": "bowl", "hours": "long", "light": "1.5"})
    assert answer.status_code == 422
    assert 'id="hours-wrong"' in answer.text
    assert 'id="light-wrong"' in answer.text
    assert 'value="long"' in answer.text
    assert taken.post("/mounts/event", {"mount": "bowl"}).status_code == 422
    assert 'id="end-wrong"' in taken.post("/mounts/end", {"mount": "bowl"}).text
    assert taken.post("/mounts/end", {"mount": "none", "end": "finished", "removal": "parted"}).status_code == 404


def test_an_empty_record_is_no_error(door):
    assert "No mount is taken up yet" in door.get("/mounts").text
    assert door.client.get("/mounts/happened.svg").status_code == 422
    assert door.client.get("/mounts/one?name=x").status_code == 404
