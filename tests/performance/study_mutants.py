"""Do the tests notice when the code is wrong? python study_mutants.py run --work FOLDER

A seeded sample of small wrong changes (``mutant_operators``) of the rooms, as many from each as it has places for them,
on a copy of one commit. The tests are collected once; for each change a child of that process is forked, the changed
code put in the place of the function it belongs to, and the tests that run the changed line are run, the quickest
first, until one fails. A change that takes effect at import gets a process of its own. Steps, each going on where it
stopped:

- ``run``: takes down which lines each test runs, then goes through the sample; a line of JSON a mutant in
  FOLDER/mutants.jsonl
- ``later --drawn COMMIT``: what survived or was not tried, in the code of a later commit with the tests of that commit;
  a line that is no longer there word for word is taken down as not mapped
- ``again --drawn COMMIT --tests COMMIT``: what survived, with the tests of its room that are new in that commit
- ``control --drawn COMMIT``: functions put in the place of themselves, unchanged, one lot for each file of the sample;
  every one must survive
- ``table --csv FILE``: the score with its interval, and a table of all
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import gc
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
from types import CodeType, FunctionType

import pytest
from mutant_mapping import Mutant, moved
from mutant_operators import mutations_of
from mutant_score import KILLED, lines_of, reasons_of, table

ROOT = Path(__file__).parents[2]
ROOMS = ("record", "stress", "strength", "verdict")
TESTS = [*(f"tests/{room}" for room in ROOMS), "tests/references", "tests/properties"]
WANTED = 600
SEED = 20261125

MOST_TEST_S = 2.0
"""Seconds of tests for one mutant at the most; tests beyond are left out, and the mutant counts as surviving."""

UNCHANGED = -1
"""The place of a control that changes nothing."""

MOST_EXAMPLES = 15
"""Examples of a law by hypothesis, fewer than in the ordinary run: a mutant may survive that would be noticed there."""

PATIENCE = 5.0
START_S = 20.0
MAP_S = 500.0
FILES_AT_ONCE = 8
MOST_MEMORY = 8 * 1024**3


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
    """Keeps the chosen tests, in their order, and remembers the first that failed."""

    def __init__(self, wanted: list[str] | None = None) -> None:
        self.order = None if wanted is None else {name: place for place, name in enumerate(wanted)}
        self.failed = ""
        self.passed: list[str] = []

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep and order."""
        if self.order is not None:
            items[:] = sorted(
                (item for item in items if item.nodeid in self.order), key=lambda it: self.order[it.nodeid]
            )
        _shorten_laws(items)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember."""
        if report.failed:
            self.failed = self.failed or report.nodeid
        elif report.when == "call":
            self.passed.append(report.nodeid)


class Lines:
    """Takes down which lines each test runs, and how long it takes."""

    def __init__(self, tree: Path) -> None:
        import coverage

        self.tree = tree
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

    def by_file(self) -> dict[str, dict[int, list[str]]]:
        """By file and line the tests that run it."""
        found = self.coverage.get_data()
        return {
            str(Path(file).relative_to(self.tree)): {
                line: [name for name in names if name] for line, names in found.contexts_by_lineno(file).items()
            }
            for file in found.measured_files()
        }


class InPlaceOfRunning:
    """Hands what was collected to the study, in place of running it."""

    def __init__(self, study: Callable[[pytest.Session], None]) -> None:
        self.study = study

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """The study."""
        _shorten_laws(session.items)
        self.study(session)
        return True


def _shorten_laws(items: list[pytest.Item]) -> None:
    from hypothesis import HealthCheck, Phase, settings

    unhurried = {"phases": [Phase.explicit, Phase.generate], "database": None, "deadline": None,
                 "suppress_health_check": list(HealthCheck)}  # fmt: skip

    for item in items:
        law = getattr(getattr(item, "obj", None), "_hypothesis_internal_use_settings", None)
        if law is not None:
            shorter = settings(law, max_examples=min(law.max_examples, MOST_EXAMPLES), **unhurried)
            getattr(item.obj, "__func__", item.obj)._hypothesis_internal_use_settings = shorter


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


def _pytest(tree: Path, files: list[str], plugin: object) -> int:
    os.chdir(tree)
    sys.path.insert(0, str(tree))
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    return int(pytest.main(["-x", "--tb=line", "-p", "no:cacheprovider", *files], plugins=[plugin]))


def _in_child(work: Callable[[], dict[str, object]], limit_s: float, notes: Path) -> dict[str, object] | None:
    """What the work gave in a process of its own; None where it did not come to an end in time."""
    notes.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            os.setsid()
            resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s), int(limit_s) + 5))
            resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
            sink = os.open(notes.with_suffix(".log"), os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(sink, 1)
            os.dup2(sink, 2)
            notes.write_text(json.dumps(work()), encoding="utf-8")
        os._exit(0)
    until = time.monotonic() + 15 * limit_s
    while time.monotonic() < until:
        if os.waitpid(child, os.WNOHANG)[0]:
            break
        time.sleep(0.01)
    else:
        os.killpg(child, signal.SIGKILL)
        os.waitpid(child, 0)
    return json.loads(notes.read_text(encoding="utf-8")) if notes.exists() else None


def _run_items(session: pytest.Session, names: list[str], *plugins: object) -> Chosen:
    """Run some of what was collected, here and now."""
    seen = Chosen()
    manager = session.config.pluginmanager
    for plugin in (seen, *plugins):
        if not manager.is_registered(plugin):
            manager.register(plugin)
    items = {item.nodeid: item for item in session.items}
    for name in names:
        session.config.hook.pytest_runtest_protocol(item=items[name], nextitem=None)
        if seen.failed:
            break
    return seen


def mapped(session: pytest.Session, tree: Path, kept: Path) -> dict[str, dict[str, object]]:
    """Seconds of each test, and by file and line the tests that run it; made a few files at a time."""
    kept.mkdir(exist_ok=True)
    files = list(dict.fromkeys(item.nodeid.split("::")[0] for item in session.items))
    whole: dict[str, dict[str, object]] = {"seconds": {}, "lines": {}}
    for start in range(0, len(files), FILES_AT_ONCE):
        part = kept / f"{start}.json"
        if not part.exists():
            some = set(files[start : start + FILES_AT_ONCE])
            names = [item.nodeid for item in session.items if item.nodeid.split("::")[0] in some]
            found = _in_child(
                lambda names=names: _taken_down(session, tree, names), MAP_S, kept / f"child-{os.getpid()}"
            )
            if found is None:
                sys.exit(f"no end of {sorted(some)}: {kept}")
            part.write_text(json.dumps(found), encoding="utf-8")
        read = json.loads(part.read_text(encoding="utf-8"))
        whole["seconds"].update(read["seconds"])
        for file, lines in read["lines"].items():
            known = whole["lines"].setdefault(file, {})
            for line, names in lines.items():
                known.setdefault(line, []).extend(names)
    return whole


def _taken_down(session: pytest.Session, tree: Path, names: list[str]) -> dict[str, object]:
    lines = Lines(tree)
    lines.coverage.start()
    failing = [name for name in names if _run_items(session, [name], lines).failed]
    lines.coverage.stop()
    by_file = {
        file: {line: [name for name in tests if name not in failing] for line, tests in found.items()}
        for file, found in lines.by_file().items()
    }
    seconds = {name: took for name, took in lines.took.items() if name not in failing}
    return {"failing": failing, "seconds": seconds, "lines": by_file}


def tests_for(mutant: Mutant, tree: Path, known: dict[str, dict[str, object]], most_s: float) -> tuple[list[str], int]:
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
        if spent + seconds[name] <= most_s:
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


def _changed(file: str, place: int, tree: Path) -> ast.Module:
    parsed = ast.parse((tree / file).read_text(encoding="utf-8"))
    if place != UNCHANGED:
        mutations_of(parsed)[place].change()
    return parsed


def _functions_of(code: CodeType) -> Iterator[CodeType]:
    """Code of the functions of a module and the methods of its classes, without what lies within them."""
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            if inner.co_flags & 0x2:  # a function has fast locals, the body of a class has not
                yield inner
            else:
                yield from _functions_of(inner)


def replacements(mutant: Mutant, tree: Path) -> list[tuple[CodeType, CodeType]]:
    """Code of the functions that the mutant changes, as it is and as it becomes; none where it changes an import."""
    text, path = (tree / mutant.file).read_text(encoding="utf-8"), str(tree / mutant.file)
    before = _functions_of(compile(text, path, "exec"))
    after = _functions_of(compile(_changed(mutant.file, mutant.place, tree), path, "exec"))
    both = list(zip(before, after, strict=True))
    if mutant.place == UNCHANGED:
        return both if mutant.mutation.lines else []
    pairs = [(one, other) for one, other in both if one != other]
    return [] if any(one.co_name.startswith("<") for one, _ in pairs) else pairs


Live = dict[tuple[str, str, int], list[FunctionType]]


def live_functions(tree: Path) -> Live:
    """Every function of the package that is there, by file, name and line; frozen objects would not be found later."""
    found: Live = {}
    for each in gc.get_objects():
        if isinstance(each, FunctionType) and each.__code__.co_filename.startswith(f"{tree}/jointlab/"):
            found.setdefault(_mark(each.__code__), []).append(each)
    gc.freeze()
    return found


def _mark(code: CodeType) -> tuple[str, str, int]:
    return code.co_filename, code.co_qualname, code.co_firstlineno


@dataclass(frozen=True)
class House:
    """What was collected on the copy of the code, and its functions."""

    session: pytest.Session
    tree: Path
    live: Live
    work: Path


def outcome_of(mutant: Mutant, house: House, chosen: list[str], planned_s: float) -> dict[str, object]:
    """Killed, out of time, or survived."""
    began = time.monotonic()
    pairs = replacements(mutant, house.tree)

    def in_place() -> dict[str, object]:
        for before, after in pairs:
            for function in house.live[_mark(before)]:
                function.__code__ = after
        seen = _run_items(house.session, chosen)
        return {"by": seen.failed, "passed": len(seen.passed)}

    limit_s = START_S + PATIENCE * planned_s
    if pairs and all(_mark(before) in house.live for before, _ in pairs):
        given = _in_child(in_place, limit_s, house.work / f"child-{os.getpid()}.json")
    else:
        given = _apart(mutant, chosen, limit_s, house.work)
    said = {"seconds": round(time.monotonic() - began, 2), "by": "" if given is None else given["by"]}
    if given is None:
        return said | {"outcome": "timeout"}
    return said | {"outcome": "killed" if given["by"] else "survived"}


def _apart(mutant: Mutant, chosen: list[str], limit_s: float, work: Path) -> dict[str, object] | None:
    """The same in a process of its own that imports the changed module."""
    asked, told = work / f"apart-{os.getpid()}.json", work / f"told-{os.getpid()}.json"
    told.unlink(missing_ok=True)
    wish = {"file": mutant.file, "place": mutant.place, "chosen": chosen, "tree": str(Path.cwd()), "told": str(told)}
    asked.write_text(json.dumps(wish), encoding="utf-8")
    words = [sys.executable, __file__, "one", "--work", str(work), "--asked", str(asked)]

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s), int(limit_s) + 5))

    with (work / "apart.log").open("wb") as log, contextlib.suppress(subprocess.TimeoutExpired):
        subprocess.run(words, stdout=log, stderr=log, timeout=15 * limit_s, preexec_fn=limited, check=False)
    return json.loads(told.read_text(encoding="utf-8")) if told.exists() else None


def one(wish: Path) -> None:
    """One mutant that takes effect at import, in this process."""
    asked = json.loads(wish.read_text(encoding="utf-8"))
    tree, file = Path(asked["tree"]), asked["file"]
    name = file.removesuffix(".py").replace("/", ".")
    sys.meta_path.insert(0, Changed(name, tree / file, _changed(file, asked["place"], tree)))
    seen = Chosen(asked["chosen"])
    code = _pytest(tree, sorted({test.split("::")[0] for test in asked["chosen"]}), seen)
    by = "" if code == 0 else seen.failed or "import"
    Path(asked["told"]).write_text(json.dumps({"by": by}), encoding="utf-8")


def _write(out: Path, mutant: Mutant, **more: object) -> None:
    change = mutant.mutation
    said = {"number": mutant.number, "file": mutant.file, "line": change.line, "operator": change.operator}
    with out.open("a", encoding="utf-8") as file:
        file.write(json.dumps(said | {"before": change.before, "after": change.after, **more}) + "\n")


def run(work: Path, out: Path, commit: str) -> None:
    """Go through the sample."""
    tree = copied(work, commit, "tree")

    def study(session: pytest.Session) -> None:
        known = mapped(session, tree, work / "map")
        seconds = known["seconds"]
        done = {line["number"] for line in lines_of(out)}
        house = House(session, tree, live_functions(tree), work)
        for mutant in sample(tree, WANTED):
            if mutant.number in done:
                continue
            chosen, left = tests_for(mutant, tree, known, MOST_TEST_S)
            found = {"outcome": "no test", "by": "", "seconds": 0.0}
            if chosen:
                found = outcome_of(mutant, house, chosen, sum(seconds[name] for name in chosen))
            _write(out, mutant, **found, tests=len(chosen), left_out=left)

    _pytest(tree, TESTS, InPlaceOfRunning(study))


def later(
    work: Path, out: Path, drawn: str, commit: str, most_s: float, reasons: dict[str, str], only: set[int]
) -> None:
    """What survived or was not tried, in code and with tests of a later commit; what is explained comes last."""
    first, tree = copied(work, drawn, f"drawn-{drawn[:7]}"), copied(work, commit, "tree")
    mutants = sample(first, WANTED)
    now = moved(mutants, first, tree)

    def study(session: pytest.Session) -> None:
        known = mapped(session, tree, work / "map")
        seconds = known["seconds"]
        lines = lines_of(out)
        done = {line["number"] for line in lines if line["outcome"] in KILLED or line.get("code") == commit}
        house = House(session, tree, live_functions(tree), work)
        for mutant in sorted(mutants, key=lambda each: str(each.number) in reasons):
            if mutant.number in done or (only and mutant.number not in only):
                continue
            if mutant.number not in now:
                _write(out, mutant, outcome="not mapped", by="", seconds=0.0, code=commit)
                continue
            chosen, left = tests_for(now[mutant.number], tree, known, most_s)
            found = {"outcome": "no test", "by": "", "seconds": 0.0}
            if chosen:
                planned_s = sum(seconds[name] for name in chosen)
                found = outcome_of(now[mutant.number], house, chosen, planned_s)
            _write(out, now[mutant.number], **found, tests=len(chosen), left_out=left, code=commit)

    _pytest(tree, TESTS, InPlaceOfRunning(study))


def control(work: Path, out: Path, drawn: str, commit: str, most_s: float) -> None:
    """Nothing changed, by the same ways: what is put in place of itself must not be noticed."""
    first, tree = copied(work, drawn, f"drawn-{drawn[:7]}"), copied(work, commit, "tree")
    now = moved(sample(first, WANTED), first, tree)
    lots = {(mutant.file, bool(mutant.mutation.lines)): mutant for mutant in now.values()}

    def study(session: pytest.Session) -> None:
        known = mapped(session, tree, work / "map")
        done = {line["number"] for line in lines_of(out)}
        house = House(session, tree, live_functions(tree), work)
        for mutant in lots.values():
            chosen, _left = tests_for(mutant, tree, known, most_s)
            if mutant.number in done or not chosen:
                continue
            nothing = Mutant(mutant.number, mutant.file, UNCHANGED, mutant.mutation)
            found = outcome_of(nothing, house, chosen, sum(known["seconds"][name] for name in chosen))
            _write(out, nothing, **found, tests=len(chosen), code=commit)

    _pytest(tree, TESTS, InPlaceOfRunning(study))


def again(work: Path, out: Path, drawn: str, commit: str, tests: str, only: set[int]) -> None:
    """Survivors once more, with the tests of their room that are new since, on the code as it was."""
    tree, newer = copied(work, commit, "tree-again"), copied(work, tests, f"tests-{tests[:12]}")
    first = copied(work, drawn, f"drawn-{drawn[:7]}")
    mutants = moved(sample(first, WANTED), first, tree)
    for part in ("tests", "datasets"):
        if not (tree / f"{part}-before").exists():
            (tree / part).rename(tree / f"{part}-before")
        (tree / part).unlink(missing_ok=True) if (tree / part).is_symlink() else None
        (tree / part).symlink_to(newer / part)
    lines = lines_of(out)
    killed = {line["number"] for line in lines if line["outcome"] in KILLED}
    done = {line["number"] for line in lines if line.get("tests_of") == tests}

    def study(session: pytest.Session) -> None:
        fresh = [item.nodeid for item in session.items if _is_new(item.nodeid, tree)]
        fresh = _passing(session, fresh, work, work / f"passing-{tests[:12]}.json")
        house = House(session, tree, live_functions(tree), work)
        for mutant in mutants.values():
            room, module = Path(mutant.file).parts[1], Path(mutant.file).stem
            own = [name for name in fresh if name.split("/")[1] in (room, "references")]
            chosen = sorted(own, key=lambda name: f"/test_{module}.py" not in name)
            if mutant.number in killed | done or not chosen or (only and mutant.number not in only):
                continue
            found = outcome_of(mutant, house, chosen, 10.0)
            _write(out, mutant, **found, tests=len(chosen), code=commit, tests_of=tests)

    try:
        _pytest(tree, ["--maxfail=9999", *_changed_files(tree)], InPlaceOfRunning(study))
    finally:
        for part in ("tests", "datasets"):
            (tree / part).unlink()
            (tree / f"{part}-before").rename(tree / part)


def _is_new(name: str, tree: Path) -> bool:
    """Whether the test's function was not there before."""
    path, _, function = name.partition("::")
    before = tree / "tests-before" / Path(path).relative_to("tests")
    wanted = re.sub(r"\[.*", "", function)
    return not before.exists() or f"def {wanted}(" not in before.read_text(encoding="utf-8")


def _changed_files(tree: Path) -> list[str]:
    """Files of tests that are new or differ from those the sample was first tried with."""
    found = []
    for room in (*ROOMS, "references"):
        for path in sorted((tree / "tests" / room).glob("test_*.py")):
            before = tree / "tests-before" / room / path.name
            if not before.exists() or before.read_bytes() != path.read_bytes():
                found.append(f"tests/{room}/{path.name}")
    return found


def _passing(session: pytest.Session, names: list[str], work: Path, kept: Path) -> list[str]:
    """The tests that pass on the code as it was: one that tells of something new since does not."""
    if not kept.exists():

        def tried() -> dict[str, object]:
            return {"passed": [name for name in names if _run_items(session, [name]).passed]}

        found = _in_child(tried, 300.0, work / f"child-{os.getpid()}.json")
        kept.write_text(json.dumps(found["passed"] if found else []), encoding="utf-8")
    passing = set(json.loads(kept.read_text(encoding="utf-8")))
    return [name for name in names if name in passing]


def _numbers(text: str) -> set[int]:
    return {int(part) for part in text.split(",")}


def main() -> None:
    """One step of the study."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("step", choices=["run", "later", "control", "again", "table", "one"])
    parser.add_argument("--work", type=Path, required=True)
    parser.add_argument("--commit", default="HEAD", help="where the code and its tests are taken from, at the start")
    parser.add_argument("--drawn", help="commit the sample is drawn from, where its code is not the one to be tried")
    parser.add_argument("--most", type=float, default=MOST_TEST_S, help="seconds of tests for one mutant, at the most")
    parser.add_argument("--only", type=_numbers, default=frozenset(), help="of these numbers, parted by commas")
    parser.add_argument("--tests", help="commit of the newer tests")
    parser.add_argument("--asked", type=Path)
    parser.add_argument("--csv", type=Path)
    parser.add_argument("--explained", type=Path, default=Path("none"))
    asked = parser.parse_args()
    work = asked.work.resolve()
    work.mkdir(parents=True, exist_ok=True)
    out = work / "mutants.jsonl"
    match asked.step:
        case "run":
            run(work, out, asked.commit)
        case "later":
            later(work, out, asked.drawn, asked.commit, asked.most, reasons_of(asked.explained), asked.only)
        case "control":
            control(work, work / "control.jsonl", asked.drawn, asked.commit, asked.most)
        case "again":
            again(work, out, asked.drawn, asked.commit, asked.tests, asked.only)
        case "one":
            one(asked.asked)
        case _:
            table(out, asked.csv, asked.explained, ROOMS)


if __name__ == "__main__":
    main()
