"""Eight writers at once, and one pull against a bare insert: python study_writing.py --out FILE.jsonl.

Writers: eight processes record a thousand pulls each into one book, on SQLite and on a PostgreSQL of the study's own;
one that is told to try again tries again. Then the book is looked through and compared with what each was told.

Store: pulls recorded in turn with rows inserted into a plain table of as many columns in another file of the same
folder, with the same durability (write-ahead log, synchronous FULL): both meet the same disk in the same minutes.

One line of JSON a part goes to the file; run again with the same file, the study goes on where it stopped.
"""

from __future__ import annotations

import argparse
import json
import os
import runpy
import sqlite3
import statistics
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path
from typing import Any

from jointlab.book.book import Book
from jointlab.book.cells import cells_of
from jointlab.errors import BookError
from jointlab.record.pull import Pull
from jointlab.record.row import checked_row, pull_of

CELLS = {"tested_on": "2026-03-14", "glue": "g", "substrate": "s", "action": "pull", "shape": "disc",
         "diameter_mm": "50", "load_n": "9", "outcome": "broke"}  # fmt: skip


def pull(batch: str, specimen: int) -> Pull:
    """An invented pull."""
    return pull_of(checked_row({**CELLS, "batch": batch, "specimen": str(specimen)}))


def written_by_one(place: str, batch: str, count: int) -> dict[str, Any]:
    """Record so many pulls; gives the numbers told, how often it was told to try again, and the slowest."""
    numbers, again, slowest_s = [], 0, 0.0
    with Book.open(place) as book:
        for specimen in range(count):
            started = time.perf_counter()
            while True:
                try:
                    numbers.append(book.record(pull(batch, specimen)).id)
                    break
                except BookError as failure:
                    if "try again" not in str(failure):
                        raise
                    again += 1
            slowest_s = max(slowest_s, time.perf_counter() - started)
    return {"numbers": numbers, "again": again, "slowest_s": slowest_s}


def _forked(place: str, batch: str, count: int) -> tuple[int, int]:
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.write(writer, json.dumps(written_by_one(place, batch, count)).encode())
            code = 0
        finally:
            os._exit(code)
    os.close(writer)
    return child, reader


def written_by_many(place: str, writers: int, count: int) -> dict[str, Any]:
    """So many writers at once, and whether every pull is there once."""
    Book.open(place).close()
    started = time.perf_counter()
    children = [_forked(place, f"W{number}", count) for number in range(writers)]
    said = []
    for child, reader in children:
        with os.fdopen(reader, "rb") as pipe:
            said.append(json.loads(pipe.read() or "{}"))
        if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 0:
            sys.exit("a writer ended by itself")
    taken_s = time.perf_counter() - started
    with Book.open(place) as book:
        report, kept = book.check(), book.pulls()
    there = {(stored.id, stored.pull.batch, stored.pull.specimen) for stored in kept}
    told = {(n, f"W{w}", str(s)) for w, one in enumerate(said) for s, n in enumerate(one["numbers"])}
    return {
        "writers": writers,
        "pulls_each": count,
        "stored": len(kept),
        "all_there_once": there == told and len(kept) == writers * count,
        "damages": report.damages,
        "told_to_try_again": sum(one["again"] for one in said),
        "wall_s": round(taken_s, 2),
        "pulls_a_second": round(writers * count / taken_s, 1),
        "slowest_s": round(max(one["slowest_s"] for one in said), 3),
    }


def on_postgresql(writers: int, count: int) -> dict[str, Any]:
    """The same on a server that is started for it; it ends no power, so that it need not wait for the disk."""
    rooms = runpy.run_path(str(Path(__file__).parents[1] / "book" / "conftest.py"))
    with tempfile.TemporaryDirectory(prefix="jointlab-pg-") as folder:
        server = rooms["Server"](rooms["_programs"](), Path(folder))
        server.start()
        try:
            return written_by_many(server.new_database(), writers, count)
        finally:
            server.stop()


def against_bare(folder: Path, count: int) -> dict[str, Any]:
    """Time of one recorded pull and of one bare insert of the same cells, in turn."""
    columns = list(cells_of(pull("b", 0)))
    ours: list[float] = []
    bare: list[float] = []
    with Book.open(folder / "shop.db") as book, closing(sqlite3.connect(folder / "bare.db")) as plain:
        plain.isolation_level = None
        plain.execute("PRAGMA journal_mode = WAL")
        plain.execute("PRAGMA synchronous = FULL")
        plain.execute(f"CREATE TABLE pulls ({', '.join(columns)})")
        insert = f"INSERT INTO pulls VALUES ({', '.join('?' * len(columns))})"
        for number in range(count):
            new = pull("b", number)
            started = time.perf_counter()
            book.record(new)
            ours.append(time.perf_counter() - started)
            row = list(cells_of(new).values())
            started = time.perf_counter()
            plain.execute("BEGIN IMMEDIATE")
            plain.execute(insert, row)
            plain.execute("COMMIT")
            bare.append(time.perf_counter() - started)
    ratios = [one / other for one, other in zip(ours, bare, strict=True)]
    return {
        "pulls": count,
        "store_ms": round(1e3 * statistics.median(ours), 3),
        "bare_ms": round(1e3 * statistics.median(bare), 3),
        "ratio": round(statistics.median(ours) / statistics.median(bare), 2),
        "ratio_of_pairs": [round(cut, 2) for cut in statistics.quantiles(ratios, n=4)],
    }


def main() -> None:
    """Run the parts that are not in the file yet."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--writers", type=int, default=8)
    parser.add_argument("--pulls", type=int, default=1000)
    parser.add_argument("--only", help="one part: store; writers, sqlite; writers, postgresql")
    asked = parser.parse_args()
    known = set()
    if asked.out.exists():
        known = {json.loads(line)["part"] for line in asked.out.read_text(encoding="utf-8").splitlines()}
    with tempfile.TemporaryDirectory(prefix="jointlab-writing-") as folder:
        parts = {
            "store": lambda: against_bare(Path(folder), asked.pulls),
            "writers, sqlite": lambda: written_by_many(str(Path(folder) / "many.db"), asked.writers, asked.pulls),
            "writers, postgresql": lambda: on_postgresql(asked.writers, asked.pulls),
        }
        for name, part in parts.items():
            if name not in known and asked.only in (None, name):
                line = json.dumps({"part": name, **part()})
                with asked.out.open("a", encoding="utf-8") as file:
                    file.write(line + "\n")
                print(line)


if __name__ == "__main__":
    main()
