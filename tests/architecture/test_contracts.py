"""The house as checks: import contracts, mirrored tests, names, sources, light commands."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

import jointlab
from jointlab.sources import SOURCES

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "jointlab"
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "versions" not in path.parts)
BANNED = {"utils", "util", "helpers", "common", "misc", "core", "base", "manager", "types", "data", "info", "result"}
OF_A_WHOLE_ROOM = {"book": {"durability", "survival", "postgresql"}}
ROOMS = ["record", "book", "stress", "strength", "compare", "plan", "mount", "verdict", "publish", "app"]


def run(*words):
    return subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)


def test_imports_point_upstream():
    done = run(sys.executable, "-c", "import sys; from importlinter.cli import lint_imports_command as c; c()")
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_top_level_holds_nothing_unexpected():
    tracked = run("git", "ls-files").stdout.splitlines() or [str(path.relative_to(ROOT)) for path in MODULES]
    tops = {Path(name).parts[0] for name in tracked}
    fixed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "jointlab", "tests", "datasets", "reports"}
    assert {top for top in tops if not top.startswith(".")} <= fixed


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_file_is_named_for_nothing(path):
    assert path.stem not in BANNED
    assert path.parent.name not in BANNED


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_and_functions_stay_short(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 520, "a file is about 500 lines at the most"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            lines = body[-1].end_lineno - body[0].lineno + 1 if body else 0
            assert lines <= 55, f"{path.name}: {node.name} has {lines} lines"


def test_every_room_has_tests_of_its_own():
    assert [room for room in ROOMS if not list((ROOT / "tests" / room).rglob("test_*.py"))] == []


def test_every_test_file_of_a_room_mirrors_a_module():
    astray = []
    for room in ROOMS:
        for path in (ROOT / "tests" / room).rglob("test_*.py"):
            inside = path.relative_to(ROOT / "tests" / room).parent
            home = PACKAGE / room / inside
            name = path.stem.removeprefix("test_")
            whole = name in OF_A_WHOLE_ROOM.get(room, set())
            if not (whole or (home / f"{name}.py").exists() or (home / name).is_dir()):
                astray.append(str(path.relative_to(ROOT)))
    assert astray == []


def texts_of_the_package():
    return {path: path.read_text(encoding="utf-8") for path in MODULES if path.name != "sources.py"}


def test_every_source_is_used():
    whole = "\n".join(texts_of_the_package().values())
    assert [key for key in SOURCES if not re.search(rf"\b{re.escape(key)}\b", whole)] == []


def test_every_source_cited_by_key_exists():
    cited = set()
    for text in texts_of_the_package().values():
        cited |= set(re.findall(r"""^_?(?:[A-Z_]*SOURCE[A-Z_0-9]*) = ["'](\w+)["']""", text, flags=re.M))
        cited |= set(re.findall(r"""SOURCES\[["'](\w+)["']\]""", text))
    assert cited
    assert cited <= set(SOURCES)


def test_the_tool_never_says_the_word_it_must_not():
    said = []
    for path in [*MODULES, *PACKAGE.rglob("*.j2")]:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            if re.search(r"\b(safe|safely)\b", line, flags=re.I) and "|safe" not in line.replace(" ", ""):
                said.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()}")
    assert said == []


def modules_loaded_by(*words, tmp_path):
    code = (
        "import sys\n"
        "from jointlab.app.cli import main\n"
        f"code = main({list(words)!r})\n"
        "print('LOADED', code, *sorted({name.split('.')[0] for name in sys.modules}))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True, encoding="utf-8"
    )
    line = next(line for line in done.stdout.splitlines() if line.startswith("LOADED"))
    _, code, *names = line.split()
    return int(code), set(names)


RECORD_LINE = (
    "record --batch A --specimen 1 --tested_on 2026-03-14 --glue pva --substrate maple --action pry --shape disc "
    "--diameter_mm 50 --load_kgf 12.5 --arm_mm 300 --outcome broke"
)
RECORD = RECORD_LINE.split()


def test_recording_a_pull_loads_none_of_the_heavy_packages(tmp_path):
    book = str(tmp_path / "shop.db")
    assert modules_loaded_by(*RECORD, "--book", book, tmp_path=tmp_path)[0] == 0
    second = [word if word != "1" else "2" for word in RECORD]
    code, loaded = modules_loaded_by(*second, "--book", book, tmp_path=tmp_path)
    assert code == 0
    assert (
        loaded & {"scipy", "pandas", "statsmodels", "matplotlib", "seaborn", "pint", "alembic", "rich", "numpy"}
        == set()
    )


@pytest.mark.parametrize("flag", ["--help", "--version"])
def test_help_and_version_load_neither_book_nor_numbers(flag, tmp_path):
    code, loaded = modules_loaded_by(flag, tmp_path=tmp_path)
    assert code == 0
    assert loaded & {"sqlalchemy", "numpy", "scipy", "pandas", "matplotlib", "alembic"} == set()


def test_importing_the_package_loads_no_third_party_package():
    code = (
        "import sys; before = set(sys.modules); import jointlab; "
        "print(sorted({name.split('.')[0] for name in set(sys.modules) - before}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(ast.literal_eval(done.stdout))
    assert loaded - set(sys.stdlib_module_names) == {"jointlab"}


def test_the_public_names_are_these():
    assert jointlab.__all__ == sorted(
        [
            "AnalysisError", "BookError", "CombinationSample", "Family", "InputError", "JointlabError",
            "StrengthSample", "__version__", "compare_combinations", "decide", "fit", "fit_combinations",
            "lower_bound", "mount_demand", "mount_setup", "publish_results", "read_pulls", "samples_of",
        ]
    )  # fmt: skip
    for name in jointlab.__all__:
        assert getattr(jointlab, name) is not None
        assert name not in ROOMS
    assert dir(jointlab) == sorted(jointlab.__all__)
    assert not hasattr(jointlab, "nothing_of_that_name")
