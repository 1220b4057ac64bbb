"""100,000 pulls published by one command: 400 combinations of 250 pulls in ten glue-ups, every joint seen to break.

Time is that of the processor, so that other work on the machine counts less; memory is the peak of the whole process.
"""

from __future__ import annotations

import csv
import math
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from jointlab.app.workflow import import_file

pytestmark = pytest.mark.performance

COMBINATIONS, EACH, GLUE_UPS = 400, 250, 10
SECTION_MM2 = math.pi * 25.0**2 / 4.0
TITLES = ("batch", "specimen", "tested_on", "glue", "substrate", "action", "shape", "diameter_mm", "load_n", "outcome")


def written_table(path: Path) -> Path:
    rng = np.random.default_rng(20261130)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(TITLES)
        for number in range(COMBINATIONS):
            glue_up = np.arange(EACH) % GLUE_UPS
            moved = rng.normal(math.log(4.0), 0.35) + 0.12 * rng.standard_normal(GLUE_UPS)[glue_up]
            loads_n = SECTION_MM2 * np.exp(moved + 0.2 * rng.standard_normal(EACH))
            for place, load_n in enumerate(loads_n):
                batch, day = f"C{number:03d}-{glue_up[place]}", f"2026-0{1 + place % 9}-1{number % 10}"
                names = (f"glue {number % 20 + 1}", f"wood {number // 20 + 1}")
                writer.writerow([batch, place + 1, day, *names, "pull", "disc", 25, f"{load_n:.1f}", "broke"])
    return path


def test_100_000_pulls_are_published_within_a_minute_and_a_gigabyte(tmp_path):
    import_file(tmp_path / "shop.db", written_table(tmp_path / "pulls.csv"))
    words = [sys.executable, "-m", "jointlab", "publish", str(tmp_path / "out"), "--book", str(tmp_path / "shop.db")]
    child = subprocess.Popen(words, env=os.environ | {"OMP_NUM_THREADS": "1"}, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    took_s, peak_mb = used.ru_utime + used.ru_stime, used.ru_maxrss * 1024 / 1e6
    print(f"published {COMBINATIONS * EACH} pulls: {took_s:.1f} s of processor, peak {peak_mb:.0f} MB")
    assert os.waitstatus_to_exitcode(status) == 0
    assert (tmp_path / "out" / "pulls.csv").stat().st_size > 5_000_000
    assert took_s < 60.0
    assert peak_mb < 1000.0
