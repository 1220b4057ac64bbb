"""What can befall a book, met at the command line: said plainly, nothing lost, usable afterwards."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime

import pytest

from jointlab.app.cli import main
from jointlab.book import engine

PULL = ["--batch", "A", "--tested_on", "2026-03-14", "--glue", "g", "--substrate", "s", "--action", "pull",
        "--shape", "disc", "--diameter_mm", "50", "--load_n", "1500", "--outcome", "broke"]  # fmt: skip


def recorded(place, specimen, *more):
    return main(["record", *PULL, "--specimen", specimen, *more, "--book", str(place)])


@pytest.fixture
def place(tmp_path, capsys):
    place = tmp_path / "shop.db"
    assert recorded(place, "1") == 0
    capsys.readouterr()
    return place


def long_file(folder, rows):
    file = folder / "long.csv"
    header = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_n,outcome,notes"
    body = [f"B,{n},2026-03-14,g,s,pull,disc,50,1500,broke,{'x' * 1500}" for n in range(rows)]
    file.write_text("\n".join([header, *body]))
    return file


def standing(place, capsys):
    capsys.readouterr()
    assert main(["pulls", "--json", "--book", str(place)]) == 0
    return [pull["specimen"] for pull in json.loads(capsys.readouterr().out)["pulls"]]


def refused(code, capsys):
    assert code == 3
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
    return told.err


def test_a_book_in_use_says_to_try_again_and_the_next_try_is_stored(place, capsys, monkeypatch):
    monkeypatch.setattr("jointlab.book.engine.BUSY_TIMEOUT_MS", 50)
    with closing(sqlite3.connect(place, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert "try again in a moment" in refused(recorded(place, "2"), capsys)
        assert standing(place, capsys) == ["1"]
        other.execute("ROLLBACK")
    assert recorded(place, "2") == 0
    assert standing(place, capsys) == ["1", "2"]


def test_a_full_disk_stores_nothing_of_a_file_and_all_of_it_once_there_is_room(place, tmp_path, capsys, monkeypatch):
    file = long_file(tmp_path, 300)
    usual = engine._prepare_sqlite

    def prepared(connection, record):
        usual(connection, record)
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count = {pages + 5}")

    with monkeypatch.context() as full:
        full.setattr(engine, "_prepare_sqlite", prepared)
        told = refused(main(["import", str(file), "--book", str(place)]), capsys)
        assert "the disk is full. Nothing was stored: free some space" in told
        assert standing(place, capsys) == ["1"]
    assert main(["import", str(file), "--book", str(place)]) == 0
    assert len(standing(place, capsys)) == 301
    assert main(["check", "--book", str(place)]) == 0


def test_a_book_that_may_only_be_read_is_read_and_refuses_to_record(place, capsys):
    reading = f"sqlite:///file:{place}?mode=ro&uri=true"
    assert "read-only. Nothing was stored" in refused(recorded(reading, "2"), capsys)
    assert standing(reading, capsys) == ["1"]
    assert recorded(place, "2") == 0


def test_a_read_only_book_that_cannot_even_be_opened_for_a_log_is_told_and_left(place, capsys):
    with closing(sqlite3.connect(place)) as other:
        assert other.execute("PRAGMA journal_mode = DELETE").fetchone() == ("delete",)
    before = place.read_bytes()
    reading = f"sqlite:///file:{place}?mode=ro&uri=true"
    for words in (["pulls"], ["check"], ["record", *PULL, "--specimen", "2"]):
        assert "is read-only. Nothing was stored" in refused(main([*words, "--book", reading]), capsys)
    assert place.read_bytes() == before
    assert recorded(place, "2") == 0


def test_a_book_of_a_newer_jointlab_is_left_as_it_is(place, capsys):
    with closing(sqlite3.connect(place)) as connection, connection:
        (schema,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        connection.execute("UPDATE alembic_version SET version_num = '9000'")
    before = place.read_bytes()
    for words in (["pulls"], ["check"], ["strength"]):
        told = refused(main([*words, "--book", str(place)]), capsys)
        assert "newer jointlab (schema 9000" in told
        assert "Install the newer jointlab" in told
    assert place.read_bytes() == before
    with closing(sqlite3.connect(place)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (schema,))
    assert recorded(place, "2") == 0


def test_a_damaged_book_is_told_by_check_and_the_backup_is_restored_beside_it(place, tmp_path, capsys):
    assert main(["import", str(long_file(tmp_path, 38)), "--book", str(place)]) == 0
    backup, anew = tmp_path / "backup.db", tmp_path / "anew.db"
    assert main(["backup", str(backup), "--book", str(place)]) == 0
    content = bytearray(place.read_bytes())
    last = len(content) - 4096
    content[last:] = b"\xff" * 4096
    place.write_bytes(content)
    capsys.readouterr()
    assert main(["check", "--book", str(place)]) == 3
    told = capsys.readouterr()
    assert "damage: " in told.out
    assert "restore a backup" in told.out
    assert "Traceback" not in told.err
    assert place.read_bytes() == bytes(content)
    assert main(["restore", str(backup), "--book", str(anew)]) == 0
    assert len(standing(anew, capsys)) == 39
    assert recorded(anew, "new") == 0


def test_a_book_damaged_where_its_tables_are_listed_says_to_restore_and_asks_for_no_check(place, capsys):
    content = bytearray(place.read_bytes())
    content[100:4096] = b"\xff" * 3996
    place.write_bytes(content)
    told = refused(main(["check", "--book", str(place)]), capsys)
    assert "is damaged where its tables are listed" in told
    assert "jointlab restore BACKUP" in told


@pytest.mark.parametrize("content", [b"not a book at all, but a letter of some length" * 40, b"\x00" * 5000])
def test_another_file_is_no_book_and_is_left_alone(tmp_path, capsys, content):
    place = tmp_path / "letter.db"
    place.write_bytes(content)
    assert "is not a shop book" in refused(main(["pulls", "--book", str(place)]), capsys)
    assert place.read_bytes() == content


def test_a_book_on_a_network_disk_is_refused_before_anything_is_made(tmp_path, capsys, monkeypatch):
    with monkeypatch.context() as away:
        away.setattr("jointlab.book.opening.network_kind", lambda _folder: "nfs4")
        told = refused(recorded(tmp_path / "shop.db", "1"), capsys)
    assert "network disk (nfs4)" in told
    assert "Keep it on a disk of this computer" in told
    assert list(tmp_path.iterdir()) == []
    assert recorded(tmp_path / "shop.db", "1") == 0


def test_a_clock_set_back_loses_nothing_and_check_remarks_it(place, capsys, monkeypatch):
    long_ago = datetime(2019, 1, 1, tzinfo=UTC)
    with monkeypatch.context() as wrong:
        wrong.setattr("jointlab.book.book.Book.open.__func__.__kwdefaults__", {"clock": lambda: long_ago})
        assert recorded(place, "2") == 0
    assert standing(place, capsys) == ["1", "2"]
    assert main(["check", "--book", str(place)]) == 0
    told = capsys.readouterr().out
    assert "the clock was set back" in told
    assert "The book is whole." in told
    assert recorded(place, "3") == 0


def test_a_missing_folder_and_a_folder_in_place_of_a_file_are_named(tmp_path, capsys):
    told = refused(main(["pulls", "--book", str(tmp_path / "none" / "shop.db")]), capsys)
    assert f"make {tmp_path / 'none'}" in told
    assert "name a file in it" in refused(main(["pulls", "--book", str(tmp_path)]), capsys)


_KILLED = """
import os, signal, sys
from jointlab.app.cli import main
from jointlab.book import importing
usual = importing.insert_new
def killed(*words, **more):
    usual(*words, **more)
    os.kill(os.getpid(), signal.SIGKILL)
importing.insert_new = killed
main(["import", sys.argv[1], "--book", sys.argv[2]])
"""


@pytest.mark.skipif(sys.platform == "win32", reason="ends a process the POSIX way")
def test_an_import_killed_half_way_has_stored_nothing_and_is_simply_given_again(place, tmp_path, capsys):
    file = long_file(tmp_path, 450)
    killed = subprocess.run([sys.executable, "-c", _KILLED, str(file), str(place)], timeout=60, check=False)
    assert killed.returncode == -9
    assert standing(place, capsys) == ["1"]
    assert main(["import", str(file), "--book", str(place)]) == 0
    assert len(standing(place, capsys)) == 451
    assert main(["check", "--book", str(place)]) == 0
