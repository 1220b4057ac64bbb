"""How a shop book grows from a thousand pulls to a million: python study_scale.py --out FILE.csv --books FOLDER.

Each size is stored from one CSV file of invented pulls in ten of a combination. Each step runs in a process of its own,
so that its peak of memory is its own; beside it stands a process that does nothing but read the same file with pandas.
One line a step goes to the file; run again with the same file and folder, the study goes on where it stopped. The pulls
follow from ``--seed``.
"""

from __future__ import annotations

import argparse
import csv
import json
import random
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

SIZES = (1_000, 10_000, 100_000, 1_000_000)
PULLS_A_COMBINATION = 10
LARGEST_AGAIN = 10_000
"""Largest file that is imported twice: what it adds to the first import shows by then."""

GLUES = 100
HEADER = (
    "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_n,arm_mm,outcome,wood_pct,adhesive_pct,"
    "cure_h"
)
FIELDS = ("pulls", "step", "wall_s", "processor_s", "peak_mb", "start_mb", "figure")


def written(path: Path, pulls: int, seed: int) -> None:
    """A file of invented pulls: batches of ten, a tenth of them of each combination."""
    chance = random.Random(seed)
    combinations = pulls // PULLS_A_COMBINATION
    with path.open("w", encoding="utf-8") as file:
        file.write(HEADER + "\n")
        for number in range(pulls):
            kind = number % combinations
            load_n = max(chance.gauss(120.0, 20.0), 10.0)
            file.write(
                f"G{number // 10},{number},2026-03-{1 + number % 28:02d},glue {kind % GLUES},wood {kind // GLUES},"
                f"pry,disc,50,{load_n:.1f},300,broke,100,0,24\n"
            )


def import_(file: str, place: str) -> object:
    """Store the file in a new book."""
    from jointlab.app import workflow

    receipt, _, _ = workflow.import_file(place, Path(file))
    return receipt.stored


def pandas(file: str, place: str) -> object:
    """Read the same file with pandas, and no more."""
    import pandas as pd

    return len(pd.read_csv(file))


def size(file: str, place: str) -> object:
    """Bytes of the book for each byte of the file."""
    return Path(place).stat().st_size / Path(file).stat().st_size


def one_combination(file: str, place: str) -> object:
    """What ``strength`` says of one combination, the book opened before."""
    from jointlab.app import workflow
    from jointlab.book.stored import PullSelection

    (found,) = workflow.strengths_in(place, PullSelection(glue="glue 7", substrate="wood 0"))
    return found.working_bound.bound_mpa


def listing(file: str, place: str) -> object:
    """The pulls of one substrate."""
    from jointlab.app import workflow
    from jointlab.book.stored import PullSelection

    return len(workflow.list_pulls(place, PullSelection(substrate="wood 0")))


def page(file: str, place: str) -> object:
    """Fifty pulls from the middle of the list."""
    from jointlab.app import workflow
    from jointlab.book.stored import PullSelection

    return len(workflow.list_pulls(place, PullSelection(after=500, limit=50)))


def again(file: str, place: str) -> object:
    """Import the same file again: every row is known."""
    from jointlab.app import workflow

    receipt, _, _ = workflow.import_file(place, Path(file))
    return receipt.skipped


def check(file: str, place: str) -> object:
    """Look through the whole book."""
    from jointlab.app import workflow

    return workflow.check_book(place).sound


STEPS: tuple[Callable[[str, str], object], ...] = (import_, pandas, size, one_combination, listing, page, again, check)
_LOADED_BEFORE = {
    pandas: ("pandas",),
    one_combination: ("jointlab.app.workflow", "jointlab.strength.strength_of", "scipy.optimize", "scipy.stats"),
}


def peak_mb() -> float:
    """Largest memory of this process so far [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3


def done(step: Callable[[str, str], object], file: str, place: str) -> None:
    """Do one step in this process, its libraries loaded before, and print what it took."""
    for library in _LOADED_BEFORE.get(step, ("jointlab.app.workflow",)):
        __import__(library)
    loaded_mb, wall, processor = peak_mb(), time.perf_counter(), time.process_time()
    figure = step(file, place)
    print(
        json.dumps(
            {
                "wall_s": round(time.perf_counter() - wall, 4),
                "processor_s": round(time.process_time() - processor, 4),
                "peak_mb": round(peak_mb(), 1),
                "start_mb": round(loaded_mb, 1),
                "figure": figure,
            }
        )
    )


def studied(out: Path, books: Path, seed: int, largest: int) -> None:
    """Every step of every size that is not in the file yet, one process each."""
    known = set()
    if out.exists():
        with out.open(encoding="utf-8", newline="") as rows:
            known = {(int(row["pulls"]), row["step"]) for row in csv.DictReader(rows)}
    else:
        out.write_text(",".join(FIELDS) + "\n", encoding="utf-8")
    for pulls in (pulls for pulls in SIZES if pulls <= largest):
        file, place = books / f"{pulls}.csv", books / f"{pulls}.db"
        if not file.exists():
            written(file, pulls, seed)
        for step in STEPS:
            if (pulls, step.__name__) in known or (step is again and pulls > LARGEST_AGAIN):
                continue
            if step is import_:
                for left in books.glob(f"{pulls}.db*"):
                    left.unlink()
            words = [sys.executable, __file__, "--step", step.__name__, str(file), str(place)]
            said = json.loads(subprocess.run(words, check=True, capture_output=True, text=True).stdout)
            with out.open("a", encoding="utf-8", newline="") as lines:
                csv.DictWriter(lines, FIELDS).writerow({"pulls": pulls, "step": step.__name__, **said})


def main() -> None:
    """Run the study, or go on with it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--books", type=Path)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--largest", type=int, default=SIZES[-1])
    parser.add_argument("--step", nargs=3)
    asked = parser.parse_args()
    if asked.step:
        name, file, place = asked.step
        done(next(step for step in STEPS if step.__name__ == name), file, place)
    else:
        studied(asked.out, asked.books, asked.seed, asked.largest)


if __name__ == "__main__":
    main()
