"""Photos of a mount, its description, and the full-size pull that prying its block off was."""

from pathlib import Path

import pytest

from jointlab.app import mount_folder, mounting, workflow
from jointlab.app.benching import Questioned
from jointlab.errors import InputError, UnknownEntryError
from jointlab.record.photo import cleaned_photo

MOUNT = Path(__file__).parents[2] / "datasets" / "demo" / "mounts" / "bowl_on_maple.toml"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    book = tmp_path_factory.mktemp("book") / "shop.db"
    mounting.start_mount(book, MOUNT, ["lathe.rpm=550"], name="bowl")
    return book


def picture(colour):
    import io

    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (32, 20), colour).save(out, "PNG")
    return cleaned_photo(out.getvalue(), name="x.png")


def test_a_photo_is_kept_once_under_its_mount(place):
    first = mount_folder.keep_mount_photo(place, "Bowl", picture("sienna"), caption="before")
    assert mount_folder.keep_mount_photo(place, "bowl", picture("sienna")) == first
    mount_folder.keep_mount_photo(place, "bowl", picture("navy"))
    assert [photo.caption for photo in mounting.field_record(place, "bowl")[1]] == ["before", ""]
    with pytest.raises(UnknownEntryError):
        mount_folder.keep_mount_photo(place, "none", picture("navy"))


def test_its_description_has_its_settings(place):
    described = mount_folder.described(place, "bowl")
    assert described["lathe"] == {"rpm": 550, "motor_w": 1100, "size": "midi"}


def test_a_block_pried_off_is_a_pull_of_the_whole_joint_stored_once(place):
    assert mount_folder.pull_pried_off(place, "bowl") is None
    with pytest.raises(InputError) as refused:
        mount_folder.record_pried_off(place, "bowl", mounting.PriedOff("load_kgf", "much", "400"))
    assert [problem.column for problem in refused.value.problems] == ["load_kgf"]
    with pytest.raises(Questioned):
        mount_folder.record_pried_off(place, "bowl", mounting.PriedOff("load_kgf", "9000", "400"))
    reading = mounting.PriedOff("load_kgf", "130", "400")
    stored = mount_folder.record_pried_off(place, "bowl", reading, looks="wood").read.stored
    assert mount_folder.record_pried_off(place, "bowl", reading, looks="wood").known
    assert mount_folder.pull_pried_off(place, "bowl") == stored
    assert (stored.pull.loading.load, stored.pull.joint.outline.diameter_mm) == (130 * 9.80665, 130.0)
    assert (stored.pull.batch, stored.pull.broke.wood_pct) == ("Y2", 90.0)
    assert workflow.read_pull(stored).stress.lower_mpa == pytest.approx(
        130 * 9.80665 * 400 * 32 / (3.141592653589793 * 130**3)
    )
