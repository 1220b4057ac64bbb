"""A reader that goes away early, as ``| head`` does, is no bug."""

from __future__ import annotations

import subprocess
import sys

import pytest

MOUNT = "jointlab/app/demo_data/mounts/bowl_on_maple.toml"


@pytest.mark.parametrize("words", [["mount", MOUNT], ["mount", MOUNT, "--json"], ["record", "--columns"], ["--help"]])
def test_when_the_reader_has_gone_the_program_ends_quietly_and_never_with_a_pass(words, pytestconfig):
    running = subprocess.Popen(
        [sys.executable, "-m", "jointlab", *words],
        cwd=pytestconfig.rootpath,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    running.stdout.close()
    with running.stderr as complaints:
        said = complaints.read()
    assert (running.wait(timeout=60), said) == (141, b"")
