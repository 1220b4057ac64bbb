"""Kills writers of a shop book at random instants and counts what was lost: python study_kills.py --out FILE.jsonl.

Two writers record, import and correct under load; both are killed (SIGKILL) together at a random instant. Then the book
is opened, looked through, and compared with what the writers were told is stored. One line of JSON a kill goes to the
file; run again with the same file, the study goes on where it stopped. The instants follow from ``--seed``.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import select
import signal
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from jointlab.book.book import Book
from jointlab.record.pull import Pull
from jointlab.record.row import checked_row, pull_of

WRITERS = 2
IMPORTED_AT_ONCE = 5
LONGEST_RUN_S = 0.1
WHILE_OPENING = 0.2
"""Share of kills timed from the start of the writers; the others from their first acknowledgement."""

KILLS_A_BOOK = 10

_CELLS = {"tested_on": "2026-03-14", "glue": "g", "substrate": "s", "action": "pull", "shape": "disc",
          "diameter_mm": "50", "load_n": "9", "outcome": "broke"}  # fmt: skip


@dataclass(frozen=True)
class Verdict:
    """What one kill did."""

    kill: int
    acknowledged: int
    lost: int
    half_stored: int
    unacknowledged: int
    damages: tuple[str, ...]
    longest_run_s: float = LONGEST_RUN_S


def _pull(batch: str, specimen: str) -> Pull:
    return pull_of(checked_row({**_CELLS, "batch": batch, "specimen": specimen}))


def _write(place: str, batch: str, pipe: int, chance: random.Random) -> None:
    with Book.open(place) as book:
        for number in range(1_000_000):
            match chance.randrange(4):
                case 0:
                    name = f"{batch} import {number}"
                    book.import_pulls([_pull(name, str(n)) for n in range(IMPORTED_AT_ONCE)])
                    said = ["import", name]
                case 1:
                    stored = book.record(_pull(batch, str(number)))
                    changed = replace(stored.pull, notes="seen again")
                    os.write(pipe, (json.dumps(["record", stored.id, 1]) + "\n").encode())
                    said = ["record", stored.id, book.correct(stored.id, changed, reason="again").revision]
                case _:
                    said = ["record", book.record(_pull(batch, str(number))).id, 1]
            os.write(pipe, (json.dumps(said) + "\n").encode())


def _started(place: str, batch: str, chance: random.Random) -> tuple[int, int]:
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        try:
            _write(place, batch, writer, chance)
        finally:
            os._exit(1)
    os.close(writer)
    return child, reader


def _promises(reader: int) -> list[list[object]]:
    with os.fdopen(reader, "rb") as pipe:
        return [json.loads(line) for line in pipe if line.endswith(b"\n")]


def killed_once(place: str, kill: int, seed: int) -> Verdict:
    """Start the writers, kill them, look at what is there."""
    chance = random.Random(f"{seed} {kill}")
    children = [_started(place, f"K{kill} {n}", random.Random(f"{seed} {kill} {n}")) for n in range(WRITERS)]
    if chance.random() >= WHILE_OPENING:
        for _, reader in children:
            select.select([reader], [], [], 60.0)  # until each has been told of something stored
    time.sleep(chance.uniform(0.0, LONGEST_RUN_S))
    for child, _ in children:
        os.kill(child, signal.SIGKILL)
    for child, _ in children:
        _, status = os.waitpid(child, 0)
        if os.waitstatus_to_exitcode(status) != -signal.SIGKILL:
            sys.exit(f"a writer ended by itself at kill {kill}")
    promises = [promise for _, reader in children for promise in _promises(reader)]
    return _compared(place, kill, promises)


def _compared(place: str, kill: int, promises: list[list[object]]) -> Verdict:
    with Book.open(place) as book:
        report = book.check()
        mine = [stored for stored in book.pulls() if stored.pull.batch.startswith(f"K{kill} ")]
    revisions = {stored.id: stored.revision for stored in mine}
    imported: dict[str, int] = {}
    for stored in mine:
        if " import " in stored.pull.batch:
            imported[stored.pull.batch] = imported.get(stored.pull.batch, 0) + 1
    recorded = {int(str(p[1])): int(str(p[2])) for p in promises if p[0] == "record"}
    wanted = [str(p[1]) for p in promises if p[0] == "import"]
    lost = sum(revisions.get(number, 0) < revision for number, revision in recorded.items())
    lost += sum(imported.get(name, 0) == 0 for name in wanted) * IMPORTED_AT_ONCE
    half = sum(count != IMPORTED_AT_ONCE for count in imported.values())
    acknowledged = len(recorded) + len(wanted) * IMPORTED_AT_ONCE
    return Verdict(kill, acknowledged, lost, half, len(mine) - acknowledged, report.damages)


def _kills(out: Path, wanted: int, seed: int) -> Iterator[Verdict]:
    done = sum(1 for _ in out.open(encoding="utf-8")) if out.exists() else 0
    while done < wanted:
        with tempfile.TemporaryDirectory(prefix="jointlab-kills-") as folder:
            place = str(Path(folder) / "shop.db")
            for kill in range(done, min(done + KILLS_A_BOOK, wanted)):
                yield killed_once(place, kill, seed)
                done += 1


def main() -> None:
    """Run the study, or go on with it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=20260314)
    asked = parser.parse_args()
    with asked.out.open("a", encoding="utf-8") as file:
        for verdict in _kills(asked.out, asked.kills, asked.seed):
            file.write(json.dumps(verdict.__dict__) + "\n")
            file.flush()
    lines = [json.loads(line) for line in asked.out.read_text(encoding="utf-8").splitlines()]
    sums = {key: sum(line[key] for line in lines) for key in ("acknowledged", "lost", "half_stored", "unacknowledged")}
    sums |= {"kills": len(lines), "damaged": sum(bool(line["damages"]) for line in lines)}
    print(json.dumps(sums))


if __name__ == "__main__":
    main()
