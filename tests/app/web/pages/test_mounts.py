"""The field record in the browser: taken up, followed, ended."""

import html
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


def with_picture(taken, path, fields, picture, name="photo"):
    files = {name: ("x.jpg", picture, "image/jpeg")}
    return taken.client.post(path, data={"token": taken.token, "mount": "bowl", **fields}, files=files)


def test_photos_come_alone_or_with_what_happened(taken, picture):
    taken.get("/mounts/one?name=bowl")
    assert (
        'alt="Photo 1 of the mount: before turning"'
        in with_picture(taken, "/mounts/photo", {"caption": "before turning"}, picture).text
    )
    assert with_picture(taken, "/mounts/photo", {}, b"no picture").status_code == 422
    assert "choose a picture first" in taken.post("/mounts/photo", {"mount": "bowl"}).text
    refused = with_picture(taken, "/mounts/event", {"hours": "1"}, b"no picture")
    assert (refused.status_code, 'id="event-photo-wrong"' in refused.text) == (422, True)
    assert mounting.field_record(taken.shop.place, "bowl")[0].hours == 0
    with_picture(taken, "/mounts/event", {"hours": "1", "note": "a line"}, picture[:-2] + b"\xff\xd9")
    record, photos = mounting.field_record(taken.shop.place, "bowl")
    assert (record.hours, len(photos)) == (1.0, 1)


def test_a_proof_is_told_taken_down_and_decides_anew(taken, picture):
    plan = mounting.proof_for(taken.shop.place, "bowl")
    told = taken.get("/mounts/proof?name=bowl").text
    assert f'<data value="{plan.force_n!r}">' in told
    assert plan.steps[0] in html.unescape(told)
    assert 'id="factor-wrong"' in taken.get("/mounts/proof?name=bowl&factor=none").text
    wrong = taken.post("/mounts/proof", {"mount": "bowl", "force": "much", "directions": "0"})
    assert wrong.status_code == 422
    assert all(f'id="{name}-wrong"' in wrong.text for name in ("force", "height_mm", "arm_mm", "held", "directions"))
    pulled = {
        "force": f"{plan.force_n + 1}", "force_unit": "load_n", "height_mm": f"{plan.height_mm}",
        "arm_mm": f"{plan.arm_mm + 1}", "held": "held",
    }  # fmt: skip
    assert "4 directions: held" in with_picture(taken, "/mounts/proof", pulled, picture).text
    record, photos = mounting.field_record(taken.shop.place, "bowl")
    assert record.proofed >= plan.factor
    assert [photo.caption for photo in photos] == ["proof"]


def test_a_block_pried_off_with_the_scale_becomes_a_pull_by_three_answers(taken):
    ended = taken.post("/mounts/end", {"mount": "bowl", "end": "finished", "removal": "pried_with_scale"})
    assert "A full-size pull for nothing" in ended.text
    wrong = taken.post("/mounts/pried", {"mount": "bowl", "scale": "much"})
    assert (wrong.status_code, 'id="arm_mm-wrong"' in wrong.text) == (422, True)
    assert 'id="scale-wrong"' in taken.post("/mounts/pried", {"mount": "bowl", "scale": "x", "arm_mm": "400"}).text
    said = {"mount": "bowl", "scale": "9000", "arm_mm": "400", "break": "wood"}
    asked = taken.post("/mounts/pried", said)
    assert "does this reading look right?" in asked.text
    assert 'value="9000"' in asked.text
    stored = taken.post("/mounts/pried", said | {"scale": "130,5"})
    assert "Stored: <a" in stored.text
    with workflow.open_book(taken.shop.place) as book:
        assert book.last_pull().pull.loading.load == 130.5 * 9.80665
