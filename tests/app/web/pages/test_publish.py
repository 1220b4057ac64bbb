"""A publication is put together while the page is left, and taken away as one file."""

import io
import json
import zipfile
from pathlib import Path

from jointlab.app import checking, mounting, workflow

DEMO = Path(__file__).parents[4] / "datasets" / "demo"


def pulls(door, count=3):
    for number in range(count):
        cells = {
            "batch": "A", "specimen": str(number + 1), "tested_on": "2026-03-14", "glue": "pva", "substrate": "maple",
            "action": "pull", "shape": "disc", "diameter_mm": "25", "load_n": str(1500 + 100 * number),
            "outcome": "broke", "notes": "told in confidence",
        }  # fmt: skip
        workflow.record_pull(door.shop.place, cells)


def test_without_pulls_or_title_it_is_told_and_what_was_typed_is_kept(door):
    door.get("/publish")
    answer = door.post("/publish", {"title": "Spring"})
    assert answer.status_code == 422
    assert "there are no pulls of that kind" in answer.text
    assert 'value="Spring"' in answer.text
    assert 'id="title-wrong"' in door.post("/publish", {"question": "Which?"}).text
    assert door.post("/publish", {"title": "x", "paper": "../etc"}).status_code == 422


def test_the_package_holds_page_data_and_figures_and_keeps_what_is_private(door):
    pulls(door)
    door.get("/publish")
    answer = door.post("/publish", {"title": "Spring", "shop": "Barn"})
    assert answer.url.path == "/publish/made"
    key = answer.url.params["key"]
    content = door.client.get("/publish/package.zip", params={"key": key}).content
    files = zipfile.ZipFile(io.BytesIO(content))
    names = set(files.namelist())
    assert {"index.html", "results.pdf", "datapackage.json", "figures/strengths.svg"} <= names
    assert b"Spring" in files.read("index.html")
    assert b"Barn" in files.read("index.html")
    assert all(b"told in confidence" not in files.read(name) for name in names)
    assert json.loads(files.read("datapackage.json"))["resources"]
    assert "results.zip" in door.get(f"/publish/made?key={key}").text


def test_an_unknown_package_is_said(door):
    assert door.client.get("/publish/made?key=none").status_code == 404
    assert door.client.get("/publish/package.zip?key=none").status_code == 404
    assert door.post("/publish", {"title": "x", "mount:none": "yes"}).status_code == 404


def taken_away(door, fields, files=None):
    answer = door.client.post("/publish", data={"token": door.token, **fields}, files=files)
    assert answer.url.path == "/publish/made", answer.text
    content = door.client.get("/publish/package.zip", params={"key": answer.url.params["key"]}).content
    return zipfile.ZipFile(io.BytesIO(content))


def test_mounts_from_files_and_of_the_book_come_with_what_they_are_decided_from(door, tmp_path):
    workflow.import_file(door.shop.place, DEMO / "pulls.csv")
    mount = DEMO / "mounts" / "bowl_on_maple.toml"
    mounting.start_mount(door.shop.place, mount, ["lathe.rpm=550"], name="../bowl")
    door.get("/publish")
    chosen = {"title": "x", "mount:../bowl": "yes"}
    files = taken_away(door, chosen, [("file", ("C:\\shop\\dish.toml", mount.read_bytes()))])
    names = {name for name in files.namelist() if name.startswith("mounts/")}
    assert names == {"mounts/_bowl.json", "mounts/_bowl.toml", "mounts/dish.json", "mounts/dish.toml"}
    assert b"rpm = 550" in files.read("mounts/_bowl.toml")
    files.extractall(tmp_path / "out")
    assert checking.check_publication(tmp_path / "out").sound


def test_a_file_that_is_no_mount_is_told_beside_its_field(door):
    pulls(door)
    door.get("/publish")
    sent = [("file", ("a.toml", b"[blank]\nlength = 3\n")), ("file", ("b.toml", b"\xff"))]
    answer = door.client.post("/publish", data={"token": door.token, "title": "Spring"}, files=sent)
    assert answer.status_code == 422
    assert 'id="file-wrong"' in answer.text
    assert "a.toml" in answer.text
    assert 'value="Spring"' in answer.text
