"""Make every report in this folder anew from datasets/: python reports/rebuild.py [FOLDER]."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from jointlab.app.demonstration import run_demo
from jointlab.app.publishing import plot_strengths
from jointlab.book.stored import EVERY_PULL

HERE = Path(__file__).parent
DEMO_DATE = "2026-02-01"


def rebuild_demo(folder: Path) -> None:
    """The demonstration's page, its pulls, and the figure that README shows."""
    with tempfile.TemporaryDirectory() as room:
        run = run_demo(Path(room) / "demo", dated_on=DEMO_DATE)
        for file in run.page.parent.iterdir():
            (folder / file.name).write_bytes(file.read_bytes())
        plot_strengths(run.book, EVERY_PULL, folder / "strengths.png")


def rebuild(folder: Path) -> None:
    """Every report."""
    (folder / "demo").mkdir(parents=True, exist_ok=True)
    rebuild_demo(folder / "demo")


if __name__ == "__main__":
    rebuild(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
