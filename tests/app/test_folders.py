"""A folder is written whole or not at all, and never over what is not ours."""

from __future__ import annotations

import json

import pytest

from jointlab.app.folders import folder_files, refuse_occupied, write_folder
from jointlab.errors import InputError

FILES = {"index.html": b"<p>", "figures/a.svg": b"<svg/>", "datapackage.json": b""}
FILES["datapackage.json"] = json.dumps({"resources": [{"path": "index.html"}, {"path": "figures/a.svg"}]}).encode()


def test_what_is_written_is_read_back(tmp_path):
    write_folder(tmp_path / "out", FILES)
    assert folder_files(tmp_path / "out") == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_an_earlier_publication_is_replaced_whole_when_asked(tmp_path):
    write_folder(tmp_path / "out", FILES)
    with pytest.raises(InputError, match="--replace"):
        refuse_occupied(tmp_path / "out", replacing=False)
    refuse_occupied(tmp_path / "out", replacing=True)
    write_folder(tmp_path / "out", {"index.html": b"new"})
    assert folder_files(tmp_path / "out") == {"index.html": b"new"}


@pytest.mark.parametrize("stray", ["diary.txt", "figures/mine.png", ".hidden"])
def test_what_no_publication_wrote_is_never_replaced(tmp_path, stray):
    write_folder(tmp_path / "out", FILES)
    (tmp_path / "out" / stray).write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match=r"no publication wrote \(.*\)"):
        refuse_occupied(tmp_path / "out", replacing=True)


def test_a_folder_with_a_broken_descriptor_is_not_taken_for_ours(tmp_path):
    write_folder(tmp_path / "out", {"datapackage.json": b"[1]", "index.html": b"<p>"})
    with pytest.raises(InputError, match=r"datapackage\.json"):
        refuse_occupied(tmp_path / "out", replacing=True)


def test_when_it_cannot_be_written_nothing_is_lost(tmp_path, monkeypatch):
    from pathlib import Path

    write_folder(tmp_path / "out", FILES)
    rename = Path.rename

    def refuse(self, target):
        if self.name.endswith(".unfinished"):
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(InputError, match="No space left"):
        write_folder(tmp_path / "out", {"index.html": b"new"})
    monkeypatch.undo()
    assert folder_files(tmp_path / "out") == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_no_link_is_followed_out_of_a_folder(tmp_path):
    write_folder(tmp_path / "out", FILES)
    (tmp_path / "secret").write_text("mine", encoding="utf-8")
    (tmp_path / "out" / "link.csv").symlink_to(tmp_path / "secret")
    with pytest.raises(InputError, match="is a link"):
        folder_files(tmp_path / "out")


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="is a file"):
        refuse_occupied(tmp_path / "out", replacing=True)
    with pytest.raises(InputError, match="is no folder"):
        folder_files(tmp_path / "out")
