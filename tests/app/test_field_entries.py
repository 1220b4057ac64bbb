"""How mounts went, as others may see it: no name, no date, no note, and only of joints that are published."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from jointlab.app import mounting, publishing, workflow
from jointlab.app.field_entries import field_of
from jointlab.book.stored import EVERY_PULL, PullSelection
from jointlab.mount.setup import CatchClass
from jointlab.pool.values import FieldEntry
from jointlab.publish.package_reading import package_read
from jointlab.verdict.field_record import End, Ended, Event, Phase, Removal

DEMO = Path("jointlab/app/demo_data")
BOWL = DEMO / "mounts" / "bowl_on_maple.toml"
MAPLE = PullSelection(glue="yellow wood glue", substrate="hard maple scrap")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("field") / "shop.db"
    workflow.import_file(place, DEMO / "pulls.csv")
    mounting.start_mount(place, BOWL, name="Ada's bowl")
    firm = ((CatchClass.LIGHT, 3), (CatchClass.FIRM, 1))
    mounting.keep_event(place, "Ada's bowl", Event("", Phase.ROUGHING, 0.5, 600.0, firm, None, "Ada was tired"))
    mounting.keep_event(place, "Ada's bowl", Event("", Phase.SHAPING, 0.25, 900.0))
    mounting.end_mount(place, "Ada's bowl", Ended("", End.NEAR_MISS, Removal.SAWN, "never again, Ada"))
    mounting.start_mount(place, BOWL, name="the next")
    return place


def test_a_mount_is_told_by_what_it_was_what_it_met_and_how_it_ended(place):
    with workflow.open_book(place) as book:
        entries = field_of(book, [stored.pull for stored in book.pulls(MAPLE)])
        predicted = mounting.field_record(place, "Ada's bowl")[0].predicted
    (missed,) = [entry for entry in entries if entry.end is not None]
    assert missed == FieldEntry(
        missed.diameter_mm, missed.length_mm, "firm", "near_miss", "pass", predicted.margin_lower, 0.75, 900.0, None,
        "sawn",
    )  # fmt: skip
    (going,) = [entry for entry in entries if entry.end is None]
    assert (going.worst_catch, going.hours, going.removal) == (None, 0.0, None)


def test_mounts_of_joints_that_are_not_published_are_not_told(place):
    with workflow.open_book(place) as book:
        pulls = [stored.pull for stored in book.pulls(EVERY_PULL)]
        others = [pull for pull in pulls if pull.joint.combination.substrate == "MDF"]
        assert field_of(book, others) == ()
        assert len(field_of(book, pulls)) == 2


def test_page_paper_and_package_tell_of_near_misses_without_a_name(place):
    wish = publishing.Wish("Maple", dated_on="2026-02-01")
    files = publishing.results_files(place, wish, selection=MAPLE)
    assert package_read(files, name="p").files["field_records.csv"].count(b"near_miss") == 1
    assert "near miss</th>" in files["index.html"].decode()
    assert not [name for name, content in files.items() if b"Ada" in content]
    described = json.loads(files["datapackage.json"])
    (table,) = [each for each in described["resources"] if each["path"] == "field_records.csv"]
    assert [column["name"] for column in table["schema"]["fields"]][:4] == [
        "diameter_mm", "length_mm", "worst_catch", "end",
    ]  # fmt: skip
