from __future__ import annotations

import importlib.util
import sys
from collections import defaultdict
from importlib.resources import files
from pathlib import Path

from jointlab.mount.document import document_of
from jointlab.mount.setup_of import setup_of
from jointlab.record.csv_file import read_csv
from jointlab.record.vocabulary import Action, Outcome
from jointlab.stress import joint_stress_of

DATASETS = Path(__file__).parents[2] / "datasets"
DEMO = DATASETS / "demo"
KGF_N = 9.80665


def script(name: str):
    spec = importlib.util.spec_from_file_location(name, DATASETS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def pulls():
    return read_csv((DEMO / "pulls.csv").read_bytes(), name="pulls.csv").pulls


def test_the_committed_file_is_what_the_script_makes() -> None:
    assert script("make_demo").demo_csv() == (DEMO / "pulls.csv").read_text(encoding="utf-8")


def test_the_installed_program_carries_the_same_files() -> None:
    shipped = files("jointlab.app") / "demo_data"
    ours = {path.relative_to(DEMO).as_posix(): path for path in DEMO.rglob("*") if path.suffix in (".csv", ".toml")}
    theirs = {item.name for item in shipped.iterdir()} | {
        f"mounts/{item.name}" for item in (shipped / "mounts").iterdir()
    }
    assert theirs - {"mounts"} == set(ours)
    for name, path in ours.items():
        assert shipped.joinpath(*name.split("/")).read_bytes() == path.read_bytes(), name


def test_every_outcome_and_three_actions_are_shown_over_at_least_four_combinations() -> None:
    seen = pulls()
    assert {pull.outcome for pull in seen} == set(Outcome)
    assert {pull.action for pull in seen} == {Action.PRY, Action.PULL, Action.TWIST}
    assert len({pull.joint.combination.key for pull in seen}) == 6
    assert sum(pull.excluded_because is not None for pull in seen) == 1


def test_main_combinations_come_from_two_glue_ups() -> None:
    batches = defaultdict(set)
    for pull in pulls():
        batches[pull.joint.combination.glue].add(pull.batch)
    assert {glue: len(names) for glue, names in batches.items()} == {
        "yellow wood glue": 2,
        "two-part epoxy": 2,
        "polyurethane glue": 2,
        "hot melt": 1,
    }


def test_pried_hardwood_breaks_where_a_home_shop_would_see_it() -> None:
    # A 50 mm disc pried at 300 mm breaks at about 4 to 21 kgf (1 to 5 MPa by elementary mechanics); the
    # strongest joints of the demo may reach the scale's limit, its weakest came apart in the hand.
    loads = [
        pull.loading.load / KGF_N
        for pull in pulls()
        if pull.action is Action.PRY and pull.outcome in (Outcome.BROKE, Outcome.STEP)
    ]
    assert min(loads) > 3.0
    assert max(loads) < 25.0
    assert all(0.2 < joint_stress_of(pull).lower_mpa < 9.0 for pull in pulls() if pull.outcome is not Outcome.HANDLED)


def test_each_mount_of_the_demo_is_a_mount_and_its_combination_was_pulled() -> None:
    combinations = {pull.joint.combination.key for pull in pulls()}
    mounts = sorted((DEMO / "mounts").glob("*.toml"))
    assert len(mounts) == 3
    for path in mounts:
        setup = setup_of(document_of(path.read_text(encoding="utf-8"), name=path.name))
        assert setup.joint.combination.key in combinations
