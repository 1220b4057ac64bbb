"""What was acknowledged survives a killed process, and two writers do not lose each other's pulls."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

from jointlab.book.book import Book

_WRITER = """
import sys
from jointlab.book.book import Book
from jointlab.record.row import checked_row, pull_of
place, batch, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
with Book.open(place) as book:
    for number in range(count):
        cells = {"batch": batch, "specimen": str(number), "tested_on": "2026-03-14", "glue": "g", "substrate": "s",
                 "action": "pull", "shape": "disc", "diameter_mm": "50", "load_n": "9", "outcome": "broke"}
        stored = book.record(pull_of(checked_row(cells)))
        print(stored.id, number, flush=True)
"""


def _writer(place: str, batch: str, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", _WRITER, place, batch, str(count)], stdout=subprocess.PIPE, text=True
    )


def _acknowledged(lines: list[str]) -> list[tuple[int, str]]:
    # a line cut short by the kill was never read as an acknowledgement
    pairs = [line.split() for line in lines if line.endswith("\n")]
    return [(int(number), specimen) for number, specimen in pairs]


def test_two_processes_write_at_once_and_every_pull_is_there_once(any_place):
    writers = [_writer(any_place, f"W{n}", 60) for n in range(2)]
    acknowledged = [_acknowledged(writer.communicate(timeout=120)[0].splitlines(keepends=True)) for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0]
    with Book.open(any_place) as book:
        stored = {(pull.id, pull.pull.batch, pull.pull.specimen) for pull in book.pulls()}
        assert book.check().sound
    assert stored == {(n, f"W{w}", specimen) for w, acks in enumerate(acknowledged) for n, specimen in acks}
    assert {number for number, _, _ in stored} == set(range(1, 121))


def test_eight_writers_at_once_each_find_their_pulls_there_once(any_place, pull_of_cells):
    Book.open(any_place).close()

    def written(writer: int) -> list[tuple[int, str, str]]:
        with Book.open(any_place) as book:
            stored = [book.record(pull_of_cells(batch=f"W{writer}", specimen=str(number))) for number in range(12)]
        return [(one.id, one.pull.batch, one.pull.specimen) for one in stored]

    with ThreadPoolExecutor(8) as writers:
        told = {one for each in writers.map(written, range(8)) for one in each}
    with Book.open(any_place) as book:
        assert {(one.id, one.pull.batch, one.pull.specimen) for one in book.pulls()} == told
        assert book.check().sound
    assert {number for number, _, _ in told} == set(range(1, 97))


def test_every_acknowledged_pull_survives_kill_nine(any_place):
    chance = random.Random(20260314)
    promised: set[tuple[int, str, str]] = set()
    for attempt in range(4):
        writer = _writer(any_place, f"K{attempt}", 100_000)
        assert writer.stdout is not None
        lines = [writer.stdout.readline() for _ in range(chance.randrange(1, 60))]
        writer.send_signal(signal.SIGKILL)
        lines += writer.stdout.readlines()
        writer.wait(timeout=30)
        writer.stdout.close()
        promised |= {(number, f"K{attempt}", specimen) for number, specimen in _acknowledged(lines)}
        with Book.open(any_place) as book:
            assert book.check().damages == ()
            kept = {(pull.id, pull.pull.batch, pull.pull.specimen) for pull in book.pulls()}
        assert promised <= kept
        assert len(kept) - len(promised) <= attempt + 1  # at most the one under way at each kill
    assert len(promised) > 40


def test_a_check_while_others_write_finds_no_damage(any_place):
    writer = _writer(any_place, "W", 150)
    assert writer.stdout is not None
    writer.stdout.readline()
    with Book.open(any_place) as book:
        reports = [book.check() for _ in range(12)]
    assert len(writer.communicate(timeout=60)[0].splitlines()) == 149
    assert [report.damages for report in reports] == [()] * 12
    assert reports[-1].revisions > reports[0].revisions


def test_a_process_killed_while_it_makes_the_book_leaves_a_place_for_one(place):
    for _ in range(4):
        maker = _writer(place, "first", 0)
        maker.send_signal(signal.SIGKILL)
        maker.communicate(timeout=30)
    with Book.open(place) as book:
        assert book.check().sound
