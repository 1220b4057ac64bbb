"""Disks a book cannot be kept on, and disks that fail."""

from __future__ import annotations

import json
import os
import re
import shutil
import stat
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from jointlab.book.book import Book
from jointlab.book.disk import kind_in, share_kind
from jointlab.errors import BookError

MOUNTS = """\
/dev/sda1 / ext4 rw 0 0
server:/home /home nfs4 rw 0 0
//nas/shop /mnt/the\\040shop cifs rw 0 0
/dev/sdb1 /home/kim/local ext4 rw 0 0
kim@far: /media/far fuse.sshfs rw 0 0
odd line
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/var/lib", None),
        ("/home/kim", "nfs4"),
        ("/home/kim/local/books", None),
        ("/home2", None),
        ("/mnt/the shop/books", "cifs"),
        ("/media/far", "fuse.sshfs"),
    ],
)
def test_a_network_disk_is_known_by_the_deepest_mount(folder, kind):
    assert kind_in(MOUNTS, folder) == kind


def test_a_later_mount_hides_an_earlier_one():
    assert kind_in("a /x nfs rw 0 0\nb /x ext4 rw 0 0\n", "/x/y") is None
    assert kind_in("a /x ext4 rw 0 0\nb /x nfs rw 0 0\n", "/x/y") == "nfs"


def test_a_share_named_by_its_server_is_a_network_disk():
    assert share_kind("\\\\nas\\shop") == "a shared folder"
    assert share_kind("C:\\shop") is None
    assert share_kind("/home/kim") is None


def test_a_book_on_a_network_disk_is_refused_before_anything_is_made(tmp_path, monkeypatch):
    monkeypatch.setattr("jointlab.book.opening.network_kind", lambda _folder: "nfs4")
    with pytest.raises(BookError, match=r"network disk \(nfs4\)"):
        Book.open(tmp_path / "shop.db")
    assert list(tmp_path.iterdir()) == []


_UNTIL_FULL = """
import json, resource, sys
from jointlab.book.book import Book
from jointlab.errors import BookError
from jointlab.record.row import checked_row, pull_of
place, room = sys.argv[1], int(sys.argv[2])
acknowledged, said = [], None
with Book.open(place) as book:
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
    for number in range(2000):
        cells = {"batch": "F", "specimen": str(number), "tested_on": "2026-03-14", "glue": "g", "substrate": "s",
                 "action": "pull", "shape": "disc", "diameter_mm": "50", "load_n": "9", "outcome": "broke",
                 "notes": "x" * 2000}
        try:
            acknowledged.append(book.record(pull_of(checked_row(cells))).id)
        except BookError as failure:
            said = str(failure)
            break
    standing = [stored.id for stored in book.pulls()]
print(json.dumps([acknowledged, said, standing]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits the size of files by the POSIX call for it")
def test_a_disk_that_fills_up_loses_nothing_and_says_so(place, pull_of_cells):
    run = subprocess.run(
        [sys.executable, "-c", _UNTIL_FULL, place, "1500000"], capture_output=True, text=True, check=True, timeout=60
    )
    acknowledged, said, standing = json.loads(run.stdout)
    assert len(acknowledged) > 10
    assert "disk" in said
    assert standing == acknowledged
    with Book.open(place) as book:
        assert book.check().damages == ()
        assert [stored.id for stored in book.pulls()] == acknowledged
        assert book.record(pull_of_cells()).id == len(acknowledged) + 1


def test_a_full_database_says_to_free_some_space(book, pull_of_cells):
    with book._engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(BookError, match=r"disk is full\. Nothing was stored: free some space"):
        book.import_pulls([pull_of_cells(specimen=str(n)) for n in range(500)])
    assert book.pulls() == ()
    with book._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    assert book.import_pulls([pull_of_cells(specimen=str(n)) for n in range(500)]).stored == 500


_AS_A_GUEST = """
import os, sys
from jointlab.book.book import Book
from jointlab.errors import BookError
from jointlab.record.row import checked_row, pull_of
cells = {"batch": "F", "specimen": "1", "tested_on": "2026-03-14", "glue": "g", "substrate": "s", "action": "pull",
         "shape": "disc", "diameter_mm": "50", "load_n": "9", "outcome": "broke"}
pull = pull_of(checked_row(cells))
with Book.open("sqlite://") as book:
    book.record(pull)  # loads what a guest may not be allowed to read
if os.geteuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
try:
    with Book.open(sys.argv[1]) as book:
        print(len(book.pulls()))
        book.record(pull)
except BookError as failure:
    print(failure)
"""


@pytest.fixture
def open_folder():
    # below pytest's own folder nobody else may look
    folder = Path(tempfile.mkdtemp(prefix="jointlab-book-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


def _guest_says(path: Path) -> list[str]:
    run = subprocess.run(
        [sys.executable, "-c", _AS_A_GUEST, str(path)], capture_output=True, text=True, check=True, timeout=60
    )
    return run.stdout.splitlines()


@pytest.mark.skipif(not hasattr(os, "setuid"), reason="takes away permissions the POSIX way")
@pytest.mark.parametrize(
    ("file_mode", "folder_mode", "said"),
    [
        (0o444, 0o777, ["1", "read-only"]),
        (0o444, 0o555, ["cannot be opened|read-only"]),
        (0o000, 0o777, ["cannot be opened"]),
    ],
)
def test_a_read_only_book_says_so_and_keeps_what_it_has(
    open_folder, empty_book, pull_of_cells, file_mode, folder_mode, said
):
    path = open_folder / "shop.db"
    shutil.copyfile(empty_book, path)
    with Book.open(path) as book:
        book.record(pull_of_cells())
    path.chmod(file_mode)
    open_folder.chmod(folder_mode)
    lines = _guest_says(path)
    assert len(lines) == len(said), lines
    assert all(re.search(pattern, line) for pattern, line in zip(said, lines, strict=True)), lines
    open_folder.chmod(0o755)
    path.chmod(stat.S_IRUSR | stat.S_IWUSR)
    with Book.open(path) as book:
        assert book.check().sound
        assert book.record(pull_of_cells(specimen="2")).id == 2


def test_a_connection_that_may_only_read_reads_and_refuses_to_record(book, place, pull_of_cells):
    book.record(pull_of_cells())
    with Book.open(f"sqlite:///file:{place}?mode=ro&uri=true") as reader:
        assert len(reader.pulls()) == 1
        with pytest.raises(BookError, match=r"read-only\. Nothing was stored"):
            reader.record(pull_of_cells(specimen="2"))
    assert book.record(pull_of_cells(specimen="2")).id == 2
