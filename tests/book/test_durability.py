"""The log is on the disk before the acknowledgement: read from the system calls themselves."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from jointlab.book.book import Book

_RECORDER = """
import os, sys
from jointlab.book.book import Book
from jointlab.record.row import checked_row, pull_of
with Book.open(sys.argv[1]) as book:
    for number in range(5):
        cells = {"batch": "S", "specimen": str(number), "tested_on": "2026-03-14", "glue": "g", "substrate": "s",
                 "action": "pull", "shape": "disc", "diameter_mm": "50", "load_n": "9", "outcome": "broke"}
        book.record(pull_of(checked_row(cells)))
        os.write(1, b"acknowledged\\n")
    book.import_pulls([pull_of(checked_row({**cells, "specimen": f"i{n}"})) for n in range(50)])
    os.write(1, b"acknowledged\\n")
    book.correct(1, pull_of(checked_row({**cells, "specimen": "0", "load_n": "8"})), reason="misread")
    os.write(1, b"acknowledged\\n")
"""

_CALL = re.compile(r"(?:\[pid +\d+\] |\d+ +)?(?P<call>\w+)\((?P<file>\d+)(?:<(?P<path>[^>]*)>)?")


def _traced(place: str, folder: Path) -> list[str]:
    """What happened, in order: ``log written``, ``log synced``, ``folder synced``, ``acknowledged``."""
    trace = folder / "trace.txt"
    calls = "trace=pwrite64,write,writev,pwritev,fsync,fdatasync,sync_file_range"
    command = ["strace", "-f", "-y", "-e", calls, "-e", "signal=none", "-o", str(trace)]
    subprocess.run([*command, sys.executable, "-c", _RECORDER, place], check=True, capture_output=True, timeout=120)
    happened: list[str] = []
    for line in trace.read_text(errors="replace").splitlines():
        found = _CALL.match(line)
        if not found:
            continue
        path, synced = found["path"] or "", found["call"] in ("fsync", "fdatasync")
        if found["file"] == "1" and "acknowledged" in line:
            happened.append("acknowledged")
        elif path.endswith("-wal"):
            happened.append("log synced" if synced else "log written")
        elif synced and path == str(Path(place).parent):
            happened.append("folder synced")
    return happened


def _can_trace() -> bool:
    if shutil.which("strace") is None:
        return False
    return subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True, check=False).returncode == 0


@pytest.mark.skipif(not _can_trace(), reason="strace is not installed, or tracing is forbidden here")
def test_the_log_is_synced_after_its_last_write_and_before_each_acknowledgement(place, tmp_path):
    Book.open(place).close()
    happened = _traced(place, tmp_path)
    assert happened.count("acknowledged") == 7
    first = happened.index("acknowledged")
    assert "folder synced" in happened[:first]  # the log's own name is on the disk too
    before_each: list[str] = []
    for event in happened:
        if event == "acknowledged":
            log = [step for step in before_each if step.startswith("log")]
            assert "log written" in log
            assert log[-1] == "log synced"
            before_each = []
        else:
            before_each.append(event)
