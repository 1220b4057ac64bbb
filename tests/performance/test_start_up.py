"""How long a command takes from process start: medians of several runs, printed; run on a quiet machine."""

import statistics
import subprocess
import sys
import time

import pytest

RUNS = 7
RECORD = [
    "record", "--batch", "A", "--tested_on", "2026-03-14", "--glue", "pva", "--substrate", "maple", "--action", "pry",
    "--shape", "disc", "--diameter_mm", "50", "--load_kgf", "12.5", "--arm_mm", "300", "--outcome", "broke",
]  # fmt: skip

pytestmark = pytest.mark.performance


def median_s(*words_of_runs):
    taken = []
    for words in words_of_runs:
        started = time.perf_counter()
        subprocess.run([sys.executable, "-m", "jointlab", *words], check=True, capture_output=True)
        taken.append(time.perf_counter() - started)
    return statistics.median(taken[1:])


@pytest.mark.parametrize("flag", ["--help", "--version"])
def test_help_and_version_answer_within_a_quarter_of_a_second(flag):
    taken_s = median_s(*([[flag]] * RUNS))
    print(f"{flag}: {taken_s * 1000:.0f} ms")
    assert taken_s < 0.25


def test_a_pull_is_stored_within_a_second_of_process_start(tmp_path):
    runs = [[*RECORD, "--specimen", str(number), "--book", str(tmp_path / "shop.db")] for number in range(RUNS)]
    taken_s = median_s(*runs)
    print(f"record: {taken_s * 1000:.0f} ms")
    assert taken_s < 1.0
