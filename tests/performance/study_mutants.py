"""Do the tests notice when the code is wrong? python study_mutants.py run --work FOLDER

A seeded sample of small wrong changes (``mutant_operators``) of the rooms, as many from each as it has places for them.
Each is made in memory in a process of its own, on a copy of one commit; the tests that run the changed line are run
there, the quickest first, until one fails. Steps, each going on where it stopped:

- ``run``: runs the tests once and takes down which lines each of them runs, then goes through the sample, one line of
  JSON a mutant in FOLDER/mutants.jsonl
- ``again --tests COMMIT``: what survived, with the tests that are new in that commit
- ``table --csv FILE``: the score with its interval, and a table of all
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import csv
import importlib.abc
import importlib.util
import io
import json
import os
import random
import re
import resource
import signal
import subprocess
import sys
import tarfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from mutant_operators import Mutation, mutations_of

ROOT = Path(__file__).parents[2]
ROOMS = ("record", "stress", "strength", "verdict")
TESTS = [*(f"tests/{room}" for room in ROOMS), "tests/references", "tests/properties"]
WANTED = 600
SEED = 20261125

MOST_TEST_S = 30.0
"""Seconds of tests for one mutant at the most; tests beyond are left out, and the mutant counts as surviving."""

PATIENCE = 5.0
START_S = 15.0
MAP_S = 500.0
FILES_AT_ONCE = 8
MOST_MEMORY = 6 * 1024**3
WARM = ("numpy", "scipy.stats", "scipy.optimize", "scipy.special", "hypothesis", "hypothesis.strategies", "pydantic",
        "openpyxl", "PIL.Image", "sqlalchemy.orm", "mpmath", "hypothesis.extra.numpy")  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One change of the sample."""

    number: int
    file: str
    place: int
    mutation: Mutation


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Loads one module from a changed syntax tree."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self.name, self.path, self.tree = name, path, tree

    def find_spec(self, fullname: str, *_where: object) -> object:
        """Only for that module."""
        return (
            importlib.util.spec_from_file_location(fullname, self.path, loader=self) if fullname == self.name else None
        )

    def create_module(self, spec: object) -> None:
        """The usual way."""

    def exec_module(self, module: object) -> None:
        """Run what was changed."""
        exec(compile(self.tree, str(self.path), "exec"), module.__dict__)


class Chosen:
    """Keeps the chosen tests, in their order, and remembers which failed."""

    def __init__(self, wanted: list[str]) -> None:
        self.order = {name: place for place, name in enumerate(wanted)}
        self.failed = ""
        self.took: dict[str, float] = {}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep and order."""
        kept = [item for item in items if item.nodeid in self.order]
        items[:] = sorted(kept, key=lambda item: self.order[item.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember."""
        self.took[report.nodeid] = self.took.get(report.nodeid, 0.0) + report.duration
        if report.failed:
            self.failed = report.nodeid


class Lines:
    """Takes down which lines each test runs."""

    def __init__(self, tree: Path) -> None:
        import coverage

        self.coverage = coverage.Coverage(source=[str(tree / "jointlab" / room) for room in ROOMS], data_file=None)
        self.took: dict[str, float] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """One context a test."""
        self.coverage.switch_context(item.nodeid)
        began = time.process_time()
        try:
            return (yield)
        finally:
            self.took[item.nodeid] = time.process_time() - began
            self.coverage.switch_context("")


def copied(folder: Path, commit: str, name: str) -> Path:
    """The commit's files in a folder of their own."""
    place = folder / name
    if not place.exists():
        packed = subprocess.run(["git", "archive", commit], cwd=ROOT, capture_output=True, check=True).stdout
        with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
            archive.extractall(place, filter="data")
    return place


def sample(tree: Path, wanted: int) -> list[Mutant]:
    """The seeded sample, each room by its share of the places."""
    places: dict[str, list[tuple[str, int]]] = {}
    for room in ROOMS:
        for path in sorted((tree / "jointlab" / room).glob("*.py")):
            count = len(mutations_of(ast.parse(path.read_text(encoding="utf-8"))))
            places.setdefault(room, []).extend((f"jointlab/{room}/{path.name}", place) for place in range(count))
    total = sum(map(len, places.values()))
    chance = random.Random(SEED)
    chosen: list[tuple[str, int]] = []
    for room in ROOMS[1:]:
        chosen += chance.sample(places[room], round(wanted * len(places[room]) / total))
    chosen += chance.sample(places[ROOMS[0]], wanted - len(chosen))
    chance.shuffle(chosen)
    return [
        Mutant(number, file, place, mutations_of(ast.parse((tree / file).read_text(encoding="utf-8")))[place])
        for number, (file, place) in enumerate(chosen)
    ]


def _quiet(out: Path) -> None:
    sink = os.open(out, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(sink, 1)
    os.dup2(sink, 2)


def _pytest(tree: Path, files: list[str], plugin: object) -> int:
    os.chdir(tree)
    sys.path.insert(0, str(tree))
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    from hypothesis import Phase, settings

    settings.register_profile("quick", phases=[Phase.explicit, Phase.generate], database=None)
    settings.load_profile("quick")
    return int(pytest.main(["-x", "--tb=line", "-p", "no:cacheprovider", *files], plugins=[plugin]))


def mapped(tree: Path, kept: Path) -> dict[str, object]:
    """Seconds of each test, and by file and line the tests that run it; made a few files at a time."""
    kept.mkdir(exist_ok=True)
    files = [str(path.relative_to(tree)) for place in TESTS for path in sorted((tree / place).rglob("test_*.py"))]
    whole: dict[str, dict[str, object]] = {"seconds": {}, "lines": {}}
    for start in range(0, len(files), FILES_AT_ONCE):
        part = kept / f"{start}.json"
        if not part.exists():
            some = files[start : start + FILES_AT_ONCE]
            found = _in_child(lambda some=some: _taken_down(tree, some), MAP_S, kept / "child")
            if found is None or found["code"] != 0:
                sys.exit(f"the tests do not pass as they are: {some}, {kept / 'child.log'}")
            part.write_text(json.dumps(found), encoding="utf-8")
        read = json.loads(part.read_text(encoding="utf-8"))
        whole["seconds"].update(read["seconds"])
        for file, lines in read["lines"].items():
            known = whole["lines"].setdefault(file, {})
            for line, names in lines.items():
                known.setdefault(line, []).extend(names)
    return whole


def _taken_down(tree: Path, files: list[str]) -> dict[str, object]:
    lines = Lines(tree)
    lines.coverage.start()
    code = _pytest(tree, files, lines)
    lines.coverage.stop()
    found = lines.coverage.get_data()
    by_file = {
        str(Path(file).relative_to(tree)): {
            line: [name for name in names if name] for line, names in found.contexts_by_lineno(file).items()
        }
        for file in found.measured_files()
    }
    return {"code": code, "seconds": lines.took, "lines": by_file}


def tests_for(mutant: Mutant, tree: Path, known: dict[str, object]) -> tuple[list[str], int]:
    """The tests that run what was changed, quickest first, and how many had to be left out."""
    by_line, seconds = known["lines"], known["seconds"]
    own = by_line.get(mutant.file, {})
    found = {name for line in mutant.mutation.lines for name in own.get(str(line), ())}
    if not mutant.mutation.lines:
        found |= _by_name(mutant, tree, by_line) or {name for names in own.values() for name in names}
    room, module = Path(mutant.file).parts[1], Path(mutant.file).stem
    mirror = f"tests/{room}/test_{module}.py"
    found |= {name for name in seconds if name.startswith(f"{mirror}::")} if found else set()
    chosen, spent = [], 0.0
    for name in sorted(found, key=lambda name: (not name.startswith(mirror), seconds[name], name)):
        if spent + seconds[name] <= MOST_TEST_S:
            spent += seconds[name]
            chosen.append(name)
    return chosen, len(found) - len(chosen)


def _by_name(mutant: Mutant, tree: Path, by_line: dict[str, dict[str, list[str]]]) -> set[str]:
    """Tests that run a line which mentions what was defined by the changed line."""
    found: set[str] = set()
    for name in mutant.mutation.names[-1:]:
        for file, lines in by_line.items():
            texts = (tree / file).read_text(encoding="utf-8").splitlines()
            for number, tests in lines.items():
                if int(number) != mutant.mutation.line and re.search(rf"\b{name}\b", texts[int(number) - 1]):
                    found.update(tests)
    return found


def _changed_finder(mutant: Mutant, tree: Path) -> Changed:
    path = tree / mutant.file
    parsed = ast.parse(path.read_text(encoding="utf-8"))
    mutations_of(parsed)[mutant.place].change()
    return Changed(mutant.file.removesuffix(".py").replace("/", "."), path, parsed)


def _in_child(work: Callable[[], dict[str, object]], limit_s: float, notes: Path) -> dict[str, object] | None:
    """What the work gave in a process of its own; None where it did not come to an end in time."""
    notes.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            os.setsid()
            resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s), int(limit_s) + 5))
            resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
            _quiet(notes.with_suffix(".log"))
            notes.write_text(json.dumps(work()), encoding="utf-8")
        os._exit(0)
    until = time.monotonic() + 4 * limit_s
    while time.monotonic() < until:
        if os.waitpid(child, os.WNOHANG)[0]:
            break
        time.sleep(0.01)
    else:
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
    return json.loads(notes.read_text(encoding="utf-8")) if notes.exists() else None


def outcome_of(
    mutant: Mutant | None, tree: Path, chosen: list[str], planned_s: float, notes: Path
) -> dict[str, object]:
    """Killed, out of time, or survived; without a mutant the tests as they are."""

    def work() -> dict[str, object]:
        if mutant is not None:
            sys.meta_path.insert(0, _changed_finder(mutant, tree))
        plugin = Chosen(chosen)
        code = _pytest(tree, sorted({name.split("::")[0] for name in chosen}), plugin)
        return {"code": code, "by": plugin.failed, "ran": len(plugin.took)}

    began = time.monotonic()
    given = _in_child(work, START_S + PATIENCE * planned_s, notes)
    took = round(time.monotonic() - began, 2)
    if given is None:
        return {"outcome": "timeout", "by": "", "seconds": took}
    if given["code"] == 0:
        if given["ran"] != len(chosen):
            sys.exit(f"{len(chosen)} tests wanted, {given['ran']} ran: {mutant}")
        return {"outcome": "survived", "by": "", "seconds": took}
    return {"outcome": "killed", "by": given["by"] or "import", "seconds": took}


def _check_unchanged(tree: Path, known: dict[str, object], work: Path) -> None:
    """Without a change the tests must pass in this way of running them too."""
    seconds = known["seconds"]
    for chosen in (
        sorted(seconds, key=lambda name: seconds[name])[:: max(len(seconds) // 40, 1)],
        sorted(seconds)[:20],
    ):
        found = outcome_of(None, tree, chosen, sum(seconds[name] for name in chosen), work / "child.json")
        if found["outcome"] != "survived":
            sys.exit(f"without a change: {found}, {work / 'child.log'}")


def _lines_of(out: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()] if out.exists() else []


def _told(mutant: Mutant, **more: object) -> dict[str, object]:
    change = mutant.mutation
    said = {"number": mutant.number, "file": mutant.file, "line": change.line, "operator": change.operator}
    return said | {"before": change.before, "after": change.after, **more}


def run(work: Path, out: Path, commit: str) -> None:
    """Go through the sample."""
    tree = copied(work, commit, "tree")
    known = mapped(tree, work / "map")
    seconds = known["seconds"]
    done = {line["number"] for line in _lines_of(out)}
    for name in WARM:
        importlib.import_module(name)
    if not done:
        _check_unchanged(tree, known, work)
    for mutant in sample(tree, WANTED):
        if mutant.number in done:
            continue
        chosen, left = tests_for(mutant, tree, known)
        found = {"outcome": "no test", "by": "", "seconds": 0.0}
        if chosen:
            found = outcome_of(mutant, tree, chosen, sum(seconds[name] for name in chosen), work / "child.json")
        with out.open("a", encoding="utf-8") as file:
            file.write(json.dumps(_told(mutant, **found, tests=len(chosen), left_out=left)) + "\n")


def again(work: Path, out: Path, commit: str, tests: str) -> None:
    """Survivors once more, with the tests of their room that are new since."""
    tree, newer = copied(work, commit, "tree"), copied(work, tests, f"tests-{tests[:12]}")
    (newer / "jointlab").rename(newer / "jointlab-of-the-tests") if (newer / "jointlab").is_dir() else None
    if not (newer / "jointlab").exists():
        (newer / "jointlab").symlink_to(tree / "jointlab")
    known = set(mapped(tree, work / "map")["seconds"])
    mutants = {mutant.number: mutant for mutant in sample(tree, WANTED)}
    for name in WARM:
        importlib.import_module(name)
    fresh = _fresh(newer, known, work)
    lines = _lines_of(out)
    done = {(line["number"], line.get("tests_of")) for line in lines}
    killed = {line["number"] for line in lines if line["outcome"] in ("killed", "timeout")}
    for line in [line for line in lines if "tests_of" not in line]:
        number = line["number"]
        room = str(line["file"]).split("/")[1]
        chosen = fresh.get(room, [])
        if number in killed or (number, tests) in done or not chosen:
            continue
        found = outcome_of(mutants[number], newer, chosen, 10.0, work / "child.json")
        with out.open("a", encoding="utf-8") as file:
            file.write(json.dumps(_told(mutants[number], **found, tests=len(chosen), tests_of=tests)) + "\n")


def _fresh(newer: Path, known: set[str], work: Path) -> dict[str, list[str]]:
    """New tests by room that pass on the code as it was."""

    class Names:
        def __init__(self) -> None:
            self.passed: list[str] = []

        def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
            items[:] = [item for item in items if item.nodeid not in known]

        def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
            if report.when == "call" and report.passed:
                self.passed.append(report.nodeid)

    def passing(room: str) -> dict[str, object]:
        names = Names()
        os.environ["PYTEST_ADDOPTS"] = "--maxfail=10000"
        _pytest(newer, [f"tests/{room}"], names)
        return {"names": names.passed}

    found = {room: _in_child(lambda room=room: passing(room), 300.0, work / "child.json") for room in ROOMS}
    return {room: list(given["names"]) if given else [] for room, given in found.items()}


def interval(killed: int, of: int) -> tuple[float, float]:
    """Clopper and Pearson's interval of a share, 95 %."""
    from scipy.stats import beta

    low = float(beta.ppf(0.025, killed, of - killed + 1)) if killed else 0.0
    high = float(beta.ppf(0.975, killed + 1, of - killed)) if killed < of else 1.0
    return low, high


def table(out: Path, written: Path, explained: Path) -> None:
    """The score before and after, and the table."""
    lines = _lines_of(out)
    reasons = json.loads(explained.read_text(encoding="utf-8")) if explained.exists() else {}
    first = {line["number"]: line for line in lines if "tests_of" not in line}
    later = {
        line["number"]: line for line in lines if line.get("tests_of") and line["outcome"] in ("killed", "timeout")
    }
    caught = {number for number, line in first.items() if line["outcome"] in ("killed", "timeout")}
    for name, kills in (("before", caught), ("after", caught | set(later))):
        low, high = interval(len(kills), len(first))
        print(f"{name}: {len(kills)} of {len(first)}, {len(kills) / len(first):.3f} ({low:.3f} to {high:.3f})")
        for room in ROOMS:
            of = [number for number, line in first.items() if line["file"].split("/")[1] == room]
            print(f"  {room}: {len(kills & set(of))} of {len(of)}")
    head = ["number", "file", "line", "operator", "before", "after", "first", "later", "seconds", "explanation"]
    with written.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(head)
        for number, line in sorted(first.items()):
            after = later[number]["outcome"] if number in later else ("" if number in caught else "survived")
            told = [line[key] for key in head[:6]]
            rows.writerow([*told, line["outcome"], after, line["seconds"], reasons.get(str(number), "")])


def main() -> None:
    """One step of the study."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("step", choices=["map", "run", "again", "table"])
    parser.add_argument("--work", type=Path, required=True)
    parser.add_argument("--commit", default="HEAD", help="where the code and its tests are taken from, at the start")
    parser.add_argument("--tests", help="commit of the newer tests")
    parser.add_argument("--csv", type=Path)
    parser.add_argument("--explained", type=Path, default=Path("none"))
    asked = parser.parse_args()
    asked.work.mkdir(parents=True, exist_ok=True)
    out = asked.work / "mutants.jsonl"
    match asked.step:
        case "run" | "map":
            run(asked.work, out, asked.commit)
        case "again":
            again(asked.work, out, asked.commit, asked.tests)
        case _:
            table(out, asked.csv, asked.explained)


if __name__ == "__main__":
    main()
