"""A publication is whole: page, PDF, figures, tables, mounts and their descriptor, and nothing private."""

from __future__ import annotations

import io
import json
import warnings
from pathlib import Path

import pytest
from PIL import Image

from jointlab.app import publishing, workflow
from jointlab.app.mounting import start_mount
from jointlab.errors import InputError
from jointlab.record.csv_file import read_csv
from jointlab.record.photo import cleaned_photo

DEMO = Path("jointlab/app/demo_data")
MAPLE = DEMO / "mounts" / "bowl_on_maple.toml"
WISH = publishing.Wish(title="Maple", dated_on="2026-02-01", shop="Thimblewick Turnery")


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Path:
    room = tmp_path_factory.mktemp("published")
    workflow.import_file(room / "shop.db", DEMO / "pulls.csv")
    selection = publishing.PullSelection(substrate="hard maple scrap", glue="yellow wood glue")
    return publishing.publish_results(room / "shop.db", room / "out", WISH, mounts=[MAPLE], selection=selection).parent


def descriptor_of(directory: Path) -> dict:
    return json.loads((directory / "datapackage.json").read_text(encoding="utf-8"))


def test_everything_belongs_to_one_package_that_validates_by_the_open_standard(published, monkeypatch):
    described = {resource["path"] for resource in descriptor_of(published)["resources"]}
    there = {path.relative_to(published).as_posix() for path in published.rglob("*") if path.is_file()}
    assert there == described | {"datapackage.json"}
    assert {"index.html", "results.pdf", "figures/strengths.svg", "figures/bowl_on_maple-section.svg"} <= there
    assert {"mounts/bowl_on_maple.toml", "mounts/bowl_on_maple.json", "pulls.csv", "strengths.csv"} <= there
    monkeypatch.chdir(published)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the validating library, not of ours
        from frictionless import Package

        report = Package("datapackage.json").validate()
    assert report.valid, report.flatten(["title", "note"])


def test_the_descriptor_says_how_to_make_it_again_and_where_the_book_stood(published):
    made = descriptor_of(published)["jointlab"]
    assert len(made["chain"]) == 64
    assert set(made["libraries"]) == {"matplotlib", "numpy", "scipy", "typst"}
    (mount,) = made["mounts"]
    assert (mount["look"]["number"], mount["look"]["planned_looks"], mount["look"]["kept"]) == (1, None, True)
    assert mount["glue_ups"] == ["Y1", "Y2"]


def test_names_and_notes_stay_private_unless_chosen(published):
    assert b"Thimblewick" not in b"".join(path.read_bytes() for path in published.rglob("*.json"))
    assert "Thimblewick" not in (published / "index.html").read_text(encoding="utf-8")
    assert "notes" not in (published / "pulls.csv").read_text(encoding="utf-8").splitlines()[0].split(",")


def test_the_page_carries_the_dataset_for_machines(published):
    from bs4 import BeautifulSoup

    page = BeautifulSoup((published / "index.html").read_text(encoding="utf-8"), "html.parser")
    (data,) = page.find_all("script", type="application/ld+json")
    told = json.loads(data.string)
    assert (told["@context"], told["@type"], told["name"]) == ("https://schema.org/", "Dataset", "Maple")
    assert told["license"] == "https://creativecommons.org/licenses/by/4.0/"
    assert {part["contentUrl"] for part in told["distribution"]} == {"pulls.csv", "datapackage.json"}


def test_a_mount_whose_pulls_are_not_published_is_refused(tmp_path):
    pulls = read_csv((DEMO / "pulls.csv").read_bytes(), name="pulls.csv").pulls
    decision = workflow.decision_among(workflow.mount_setup(MAPLE), pulls, name="bowl_on_maple")
    others = [pull for pull in pulls if pull.joint.combination.substrate == "MDF"]
    with pytest.raises(InputError, match="rests on pulls of yellow wood glue on hard maple scrap"):
        publishing.publish_pulls(others, tmp_path / "out", WISH, [publishing.Asked(decision)])
    assert not (tmp_path / "out").exists()


def test_two_mounts_of_one_name_are_refused(tmp_path):
    pulls = read_csv((DEMO / "pulls.csv").read_bytes(), name="pulls.csv").pulls
    asked = publishing.Asked(workflow.decision_among(workflow.mount_setup(MAPLE), pulls, name="bowl"))
    with pytest.raises(InputError, match="two mounts of that name"):
        publishing.publish_pulls(pulls, tmp_path / "out", WISH, [asked, asked])


def test_what_stands_in_comments_of_a_mount_file_is_published_with_the_notes_only(tmp_path):
    workflow.import_file(tmp_path / "shop.db", DEMO / "pulls.csv")
    mount = tmp_path / "bowl.toml"
    mount.write_text(f"# for Ada Quill, collect Friday\n{MAPLE.read_text(encoding='utf-8')}", encoding="utf-8")
    decision = workflow.decide_mount(tmp_path / "shop.db", mount)
    asked = [publishing.Asked(decision, mount.read_bytes())]
    selection = publishing.PullSelection(substrate="hard maple scrap", glue="yellow wood glue")
    private = publishing.results_files(tmp_path / "shop.db", WISH, asked, selection=selection)
    assert b"Quill" not in b"".join(private.values())
    assert workflow.mount_setup(mount) == decision.setup
    chosen = publishing.Wish("Maple", dated_on="2026-02-01", disclosing=frozenset({publishing.Private.NOTES}))
    shown = publishing.results_files(tmp_path / "shop.db", chosen, asked, selection=selection)
    assert b"# for Ada Quill" in shown["mounts/bowl.toml"]


def test_photos_of_pulls_and_of_mounts_asked_about_come_along_when_chosen_without_where_they_were_taken(tmp_path):
    picture = io.BytesIO()
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (52.0, 30.0, 0.0)}
    Image.new("RGB", (40, 30), "tan").save(picture, "JPEG", exif=exif)
    (tmp_path / "break.jpg").write_bytes(picture.getvalue())
    place = tmp_path / "shop.db"
    workflow.import_file(place, DEMO / "pulls.csv")
    photo = cleaned_photo(picture.getvalue(), name="break.jpg")
    with workflow.open_book(place) as book:
        maple = book.pulls(publishing.PullSelection(substrate="hard maple scrap", glue="yellow wood glue"))
        book.keep_photo(photo, pull_id=maple[0].id, caption="Ada's bench")
    start_mount(place, MAPLE, name="bowl_on_maple")
    with workflow.open_book(place) as book:
        book.keep_photo(photo, mount="bowl_on_maple")
    asked = [publishing.Asked(workflow.decide_mount(place, MAPLE), MAPLE.read_bytes())]
    selection = publishing.PullSelection(substrate="hard maple scrap", glue="yellow wood glue")
    assert not [name for name in publishing.results_files(place, WISH, asked, selection=selection) if "photos" in name]
    chosen = publishing.Wish("Maple", dated_on="2026-02-01", disclosing=frozenset({publishing.Private.PHOTOS}))
    files = publishing.results_files(place, chosen, asked, selection=selection)
    names = [name for name in files if name.startswith("photos/")]
    assert names == [f"photos/pull-{maple[0].id}-1.jpg", "photos/mount-1-2.jpg"]
    assert all(not Image.open(io.BytesIO(files[name])).getexif() for name in names)
    page = files["index.html"].decode()
    assert 'href="photos/mount-1-2.jpg"' in page
    assert b"Ada" not in b"".join(files.values())


def test_all_publications_of_a_book_carry_one_mark_and_no_other_book_does(tmp_path):
    marks = []
    for name in ("one", "two"):
        place = tmp_path / f"{name}.db"
        workflow.import_file(place, DEMO / "pulls.csv")
        for substrate in ("MDF", "hard maple scrap"):
            files = publishing.results_files(place, WISH, selection=publishing.PullSelection(substrate=substrate))
            marks.append(json.loads(files["datapackage.json"])["jointlab"]["book"])
    assert marks[0] == marks[1] != marks[2] == marks[3]


def test_limits_are_drawn_around_the_plot_of_some_pulls_and_not_of_very_many(monkeypatch):
    pulls = read_csv((DEMO / "pulls.csv").read_bytes(), name="demo").pulls[:12]
    drawn = publishing.publication_of(pulls, publishing.Wish(title="x", dated_on="2026-05-01"), ())
    assert all(plot.band is not None for plot in drawn.plots)
    monkeypatch.setattr(publishing, "MOST_BANDED", 3)
    bare = publishing.publication_of(pulls, publishing.Wish(title="x", dated_on="2026-05-01"), ())
    assert [plot.band for plot in bare.plots] == [None for _ in drawn.plots]
