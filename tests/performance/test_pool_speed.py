"""Many packages: up to 200,000 pulls of a hundred shops put together, and packages spoiled by the thousand."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from jointlab.publish.package import data_package
from jointlab.publish.publication import Publication, PublishedPull
from jointlab.record.joint import Combination
from jointlab.record.pull import Loading
from jointlab.stress.joint_stress_of import joint_stress_of

pytestmark = pytest.mark.performance

SHOPS, EACH = 100, 1000
MUTATIONS = 10_000


def module_of(name: str):
    path = Path(__file__).parents[1] / "app" / name
    spec = importlib.util.spec_from_file_location(path.stem, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def written_shop(folder: Path, number: int, first, *, each: int = EACH) -> Path:
    rng = np.random.default_rng([20261128, number])
    moved = 0.2 * rng.standard_normal()
    pulls = []
    for place in range(each):
        load_n = float(np.round(200.0 * np.exp(moved + 0.2 * rng.standard_normal()), 1))
        joint = replace(first.joint, combination=Combination("yellow glue", f"wood {place % 10}"))
        loading = Loading(load=load_n, arm_mm=300.0)
        pulls.append(
            replace(
                first, batch=f"{number} {place % 40}", specimen=str(place), joint=joint, loading=loading, entered=()
            )
        )
    published = tuple(PublishedPull(pull, joint_stress_of(pull)) for pull in pulls)
    publication = Publication(
        title=f"shop {number}", dated_on="2026-05-01", program_version="0.1.0", pulls=published, strengths=()
    )
    for name, content in data_package(publication).items():
        (folder / f"{number}").mkdir(exist_ok=True)
        (folder / f"{number}" / name).write_bytes(content)
    return folder / f"{number}"


@pytest.mark.parametrize("largest", [EACH, 100 * EACH])
def test_a_hundred_packages_are_pooled_within_a_minute(tmp_path, largest):
    first = module_of("conftest.py").read_csv((module_of("conftest.py").SHOPS / "aldermead.csv").read_bytes(), name="a")
    folders = [written_shop(tmp_path, 0, first.pulls[0], each=largest)]
    folders += [written_shop(tmp_path, number, first.pulls[0]) for number in range(1, SHOPS)]
    pulls = largest + (SHOPS - 1) * EACH
    words = [sys.executable, "-m", "jointlab", "pool", "--json", *map(str, folders)]
    began = time.perf_counter()
    with (tmp_path / "said").open("w") as file:
        child = subprocess.Popen(words, env=os.environ | {"OMP_NUM_THREADS": "1"}, stdout=file)
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    clock_s, took_s, peak_mb = time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024 / 1e6
    print(f"pooled {pulls} pulls: {took_s:.1f} s of processor, {clock_s:.1f} s, {peak_mb:.0f} MB")
    assert child.returncode == 0
    said = json.loads((tmp_path / "said").read_text())["combinations"]
    assert sum(each["n"] for each in said) == pulls
    assert all(each["why_not"] is None for each in said)
    assert took_s < 60.0
    assert peak_mb < 1000.0


def test_of_10_000_mutated_packages_none_is_accepted_that_differs(tmp_path):
    made, pooling = module_of("conftest.py"), module_of("test_pooling.py")
    files = made.package_of("dunnockfield", most=4)
    rng = np.random.default_rng(20261129)
    path = tmp_path / "p.zip"
    assert sum(pooling.accepted_otherwise(files, rng, path, tmp_path) for _ in range(MUTATIONS)) == 0
