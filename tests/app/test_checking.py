"""A checked publication is what its pulls give, and one that is not is found out, whatever was changed."""

from __future__ import annotations

import hashlib
import json
import random
import shutil
from pathlib import Path

import pytest

from jointlab.app import checking, publishing, workflow
from jointlab.app.checking import check_publication
from jointlab.errors import InputError

DEMO = Path("jointlab/app/demo_data")
MOUNT = DEMO / "mounts" / "bowl_on_mdf.toml"


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    room = tmp_path_factory.mktemp("checked")
    workflow.import_file(room / "shop.db", DEMO / "pulls.csv")
    wish = publishing.Wish(title="MDF", question="Does it hold?", dated_on="2026-02-01")
    selection = publishing.PullSelection(substrate="MDF")
    return publishing.publish_results(room / "shop.db", room / "out", wish, mounts=[MOUNT], selection=selection).parent


@pytest.fixture
def published(original: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(original, tmp_path / "out"))


def described_anew(directory: Path, **made: object) -> None:
    """Sizes and hashes of the descriptor brought in line with the files, as a forger would."""
    path = directory / "datapackage.json"
    descriptor = json.loads(path.read_text(encoding="utf-8"))
    for resource in descriptor["resources"]:
        content = (directory / resource["path"]).read_bytes()
        resource["bytes"], resource["hash"] = len(content), f"sha256:{hashlib.sha256(content).hexdigest()}"
    descriptor["jointlab"].update(made)
    path.write_text(json.dumps(descriptor), encoding="utf-8")


def changed(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8", newline="")


def test_what_was_published_is_what_its_pulls_give(published):
    found = check_publication(published)
    assert (found.sound, found.differences, found.changed, found.remarks) == (True, (), (), ())


def test_any_changed_byte_is_found(published):
    chance = random.Random(7)
    files = sorted(path for path in published.rglob("*") if path.is_file() and path.name != "datapackage.json")
    for path in chance.sample(files, 8):
        whole = path.read_bytes()
        place = chance.randrange(len(whole))
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        found = check_publication(published)
        assert not found.sound
        assert path.relative_to(published).as_posix() in found.differences[0]
        path.write_bytes(whole)


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("strengths.csv", "working", "wishing", "strengths.csv row 2, method"),
        ("mounts/bowl_on_mdf.json", '"verdict": "fail"', '"verdict": "pass"', "verdict: it says pass, the pulls give"),
        ("mounts/bowl_on_mdf.toml", "diameter_mm", "length_mm", "cannot be worked out again"),
        ("index.html", "Does it hold?", "It holds.", "index.html is not what the pulls give"),
    ],
)
def test_a_forger_who_sets_the_hashes_right_is_found_by_the_numbers(published, file, old, new, said):
    changed(published / file, old, new)
    described_anew(published)
    found = check_publication(published)
    assert not found.sound
    assert any(said in difference for difference in found.differences), found.differences


def test_a_pull_left_out_or_made_stronger_shows_in_every_number(published):
    lines = (published / "pulls.csv").read_bytes().splitlines(keepends=True)
    (published / "pulls.csv").write_bytes(b"".join(lines[:-1]))
    described_anew(published)
    told = check_publication(published).differences
    assert any(difference.startswith("strengths.csv row 2, bound_mpa") for difference in told)
    assert any(difference.startswith("strengths.csv row 2, n ") for difference in told)


def test_files_missing_or_added_are_named(published):
    (published / "results.pdf").unlink()
    (published / "extra.exe").write_bytes(b"MZ")
    told = " ".join(check_publication(published).differences)
    assert "results.pdf" in told
    assert "extra.exe" in told


def test_numbers_of_another_version_are_told_as_changed_not_as_wrong(published):
    changed(published / "strengths.csv", "working 3", "working 2")
    described_anew(published, program_version="0.0.9")
    found = check_publication(published)
    assert found.sound
    assert any("method" in change and "working 2" in change for change in found.changed)
    assert "made by jointlab 0.0.9" in found.remarks[0]


def test_drawings_by_other_libraries_are_not_compared_but_the_words_are(published):
    libraries = json.loads((published / "datapackage.json").read_text(encoding="utf-8"))["jointlab"]["libraries"]
    described_anew(published, libraries={**libraries, "matplotlib": "0.1"})
    found = check_publication(published)
    assert found.sound
    assert "were not compared" in found.remarks[0]
    changed(published / "index.html", "Does it hold?", "It holds.")
    described_anew(published)
    assert check_publication(published).differences == ("index.html does not say what the pulls give",)


def test_a_book_is_asked_whether_it_holds_the_entry_the_publication_ends_with(published, original, tmp_path):
    own = original.parent / "shop.db"
    (told,) = check_publication(published, own).remarks
    assert told.endswith("was the last entry of this book, which still holds it")
    workflow.import_file(tmp_path / "other.db", DEMO / "pulls.csv")
    found = check_publication(published, tmp_path / "other.db")
    assert found.sound
    assert found.remarks[0].startswith("made from another book, or this one was set back")
    described_anew(published, chain="no digest")
    assert "chain" in check_publication(published, own).differences[0]


def test_what_is_no_publication_is_said_to_be_none(tmp_path):
    with pytest.raises(InputError, match=r"datapackage\.json"):
        check_publication(tmp_path)


def test_the_check_as_json_says_the_same(published):
    document = checking.check_document(check_publication(published)).model_dump(mode="json", by_alias=True)
    assert document == {"schema": 1, "sound": True, "differences": [], "changed": [], "remarks": []}
