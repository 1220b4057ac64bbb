"""Whatever words and files a command is given: it does its work, or says what is wrong, and stores nothing then."""

from __future__ import annotations

import contextlib
import io
import json
import shutil
import signal
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from jointlab.app.cli import main
from jointlab.app.cli.application import ORDER
from jointlab.record.columns import accepted_columns
from jointlab.record.template import ROWS, TITLES
from jointlab.record.xlsx_file import sheet_of_rows

DATASETS = Path(__file__).parents[2] / "datasets"
CODES = {0, 2, 3, 4, 10, 11}
LONGEST_S = 30

HOSTILE = (
    "", " ", "-", "--", "--json", "nan", "inf", "-inf", "1e400", "-0", "0", "-1", "1e-300", "9" * 30, "9" * 5000, "0.5",
    "\udcff", "a\x00b", "\x1b[2J", "\ud800 on x", "=1+1", "[" * 3000, "a.b=c", "lathe.rpm=", "blank_joint.1.x=1",
    "é" * 300, "1,5", "1_000", "٣", "2026-02-30", "2026-03-14T25:00", "PVA on ", "on", "%s", "{0}", "None", "true",
    "\n", "\u202e",
)  # fmt: skip
hostile = st.sampled_from(HOSTILE) | st.text(max_size=8)
numbers = st.floats(width=32).map(repr) | st.integers(-3, 3000).map(str)
names = st.sampled_from(["yellow glue", "maple", "pva", "bar", "first", "bowl", "1", "A"])
WORDS = (
    "pry", "pull", "twist", "shear", "broke", "held", "step", "handled", "disc", "ring", "rectangle", "finished",
    "parted", "pried_with_scale", "comma", "point", "lever", "bar_and_scale", "sound", "roughing", "cure_h", "void_pct",
    "blocks", "ranks", "a4", "letter", "pva",
)  # fmt: skip
words = st.sampled_from(WORDS)
FILES = (
    "pulls.csv",
    "pulls.xlsx",
    "mount.toml",
    "break.png",
    "noise",
    "empty",
    "folder",
    "missing",
    "face.csv",
    "p.zip",
)
files = st.sampled_from(FILES)
outputs = st.sampled_from(
    ["out.csv", "out.xlsx", "out.svg", "out.png", "out.pdf", "folder", "no/such/place.csv", "out.xyz"]
)
settings_of_mount = st.sampled_from(["lathe.rpm=900", "blank.mass_kg=3", "joint.diameter_mm=90", "criteria.margin=1"])
ids = st.integers(-2, 12).map(str)
columns = st.sampled_from(sorted(accepted_columns()))

FILTERS = {"--glue": names, "--substrate": names, "--preparation": names, "--action": words}
BY = {"--by": names}
LIGHT: dict[str, tuple[list[st.SearchStrategy[str]], dict[str, st.SearchStrategy[str]]]] = {
    "rigs": ([], {}),
    "rigs keep": ([names], {"--reason": names, "--kind": words, "--ratio": numbers, "--arm_mm": numbers, **BY}),
    "rigs check": ([names], {"--date": names, "--known_kg": numbers, "--shown_kg": numbers, **BY}),
    "rigs history": ([names], {}),
    "record": ([], {"--photo": files, **BY}),
    "import": ([files], {"--decimal": words, **BY}),
    "export": ([outputs], FILTERS),
    "pulls": ([], FILTERS),
    "pulls correct": ([ids], {"--reason": names, "--load_n": numbers, "--notes": names, **BY}),
    "pulls exclude": ([ids], {"--cause": names, **BY}),
    "pulls photo": ([ids, files], BY),
    "pulls history": ([ids], {}),
    "runout": ([files], {"--after": files, "--stage": words, "--radius_mm": numbers, "--blank_diameter_mm": numbers}),
    "mount": ([files], {"--set": settings_of_mount, "--thickness": files, "--density_pct": numbers}),
    "mounts": ([], {}),
    "mounts list": ([], {}),
    "mounts show": ([names], {}),
    "mounts event": (
        [names],
        {"--phase": words, "--hours": numbers, "--top_rpm": numbers, "--light": ids, "--inspected": words,
         "--note": names, "--photo": files},
    ),
    "mounts proof": ([names], {"--factor": numbers, "--load_n": numbers, "--height_mm": numbers, "--bar_mm": numbers}),
    "mounts end": ([names], {"--as": words, "--block": words, "--load_kgf": numbers, "--arm_mm": numbers}),
    "plan list": ([], {}),
    "plan show": ([names], {}),
    "pool": ([files], {"--confidence": numbers, "--same": names, **FILTERS}),
    "publish": ([outputs], {"--date": names, "--title": names, "--paper": words, "--licence": names, "--mount": files}),
    "publish --check": ([files], {}),
    "serve": ([], {"--port": numbers, "--host": st.sampled_from(["::1", "a b", "127.0.0.1"])}),
    "demo": ([st.sampled_from(["folder", "noise", "pulls.csv"])], {}),
    "backup": ([outputs], {}),
    "restore": ([files], {}),
    "check": ([], {}),
}  # fmt: skip
HEAVY: dict[str, tuple[list[st.SearchStrategy[str]], dict[str, st.SearchStrategy[str]]]] = {
    "strength": ([], {"--coverage": numbers, "--confidence": numbers, "--stress": numbers, "--next": ids, **FILTERS}),
    "compare": (
        [], {"--control": names, "--analysis": words, "--confidence": numbers, "--trend": words, "--plan": names,
             **FILTERS}
    ),
    "target": (
        [files], {"--set": settings_of_mount, "--diameter_mm": numbers, "--action": words, "--count": ids,
                  "--batches": ids, "--arm_mm": numbers, "--cap_kgf": numbers},
    ),
    "decide": ([files], {"--set": settings_of_mount, "--card": outputs, "--paper": words, **BY}),
    "mounts start": ([files], {"--name": names, "--set": settings_of_mount, "--photo": files, "--reason": names}),
    "plan": (
        [], {"--combination": names.map("pva on {}".format), "--expected_mpa": numbers, "--hold_mpa": numbers,
             "--glued_from": st.just("2026-04-01"), "--spread_pct": numbers, "--glue_ups": ids, "--each": ids,
             "--seed": ids,
             "--difference_pct": numbers, "--looks": ids, "--days_between": ids, "--cure_h": numbers, "--name": names},
    ),
}  # fmt: skip
ANY_COLUMN = {"record", "rigs keep", "pulls correct"}
PATHS = {"--photo", "--after", "--thickness", "--mount", "--card", "--plot"}


def within(text: str) -> bool:
    """Whether a text taken for a path stays in the folder."""
    return "/" not in text and not text.startswith((".", "~"))


@st.composite
def lines(draw: st.DrawFn, command: str) -> list[str]:
    """Words behind a command, most of them of the kind that is wanted."""
    wanted, flags = {**LIGHT, **HEAVY}[command]
    given_words = command.split()
    for kind in wanted:
        given_words.append(draw(kind) if draw(st.integers(0, 5)) else draw(hostile.filter(within)))
    for flag in draw(st.lists(st.sampled_from(sorted(flags)), max_size=4)) if flags else []:
        other = hostile.filter(within) if flag in PATHS else hostile
        given_words += [flag, draw(flags[flag]) if draw(st.integers(0, 3)) else draw(other)]
    if command in ANY_COLUMN:
        for column in draw(st.lists(columns, max_size=3)):
            given_words += [f"--{column}", draw(numbers | hostile | words)]
    if draw(st.integers(0, 7)) == 0:
        given_words.append(draw(hostile.filter(within)))
    return given_words + (["--json"] if draw(st.booleans()) else [])


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> Path:
    """A folder with a book and the files that commands are given."""
    folder = tmp_path_factory.mktemp("shop")
    with contextlib.chdir(folder):
        (folder / "pulls.csv").write_bytes(
            b"".join((DATASETS / "demo" / "pulls.csv").read_bytes().splitlines(True)[:9])
        )
        (folder / "pulls.xlsx").write_bytes(sheet_of_rows(TITLES, ROWS))
        shutil.copy(DATASETS / "demo" / "mounts" / "bowl_on_maple.toml", folder / "mount.toml")
        Image.new("RGB", (40, 30), "red").save(folder / "break.png")
        (folder / "noise").write_bytes(bytes(range(256)) * 3)
        (folder / "empty").touch()
        (folder / "folder" / "in it").mkdir(parents=True)
        (folder / "face.csv").write_text("reading_mm,angle_deg\n0,0\n0.1,90\n0.2,180\n0.1,270\n", encoding="utf-8")
        (folder / "p.zip").write_bytes(b"PK\x05\x06" + bytes(18))
        for line in (
            ["import", "pulls.csv"],
            ["rigs", "keep", "bar", "--kind", "bar_and_scale", "--arm_mm", "300", "--capacity_kgf", "50"],
            ["mounts", "start", "mount.toml", "--name", "bowl"],
        ):
            assert asked([*line, "--book", "whole.db"])[0] == 0
    return folder


def asked(line: list[str]) -> tuple[int, str, str]:
    """Exit code and what was said, as a strict terminal would take it; no longer than is allowed."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", errors=errors) for errors in ("strict", "backslashreplace"))
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(line)
    for stream in (out, err):
        stream.flush()
    return code, *(stream.buffer.getvalue().decode("utf-8") for stream in (out, err))


def kept(book: Path) -> list[tuple[object, ...]]:
    """How long each chain of the book is, and where it ends."""
    with contextlib.closing(sqlite3.connect(book)) as opened:
        ends = opened.execute("select name, length, head from chains order by name").fetchall()
        return opened.execute("select 'pulls', length, head from ledger").fetchall() + ends


@contextlib.contextmanager
def in_time(line: list[str]) -> Iterator[None]:
    """Fails when it takes so long that a person would give up."""

    def late(*_: object) -> None:
        raise AssertionError(f"no answer within {LONGEST_S} s: {line}")

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(LONGEST_S)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def check_answer(line: list[str], shop: Path) -> None:
    """The command answers within the contract; what it refuses leaves the book as it was."""
    book = shop / "shop.db"
    shutil.copy(shop / "whole.db", book)
    before = kept(book)
    with contextlib.chdir(shop), in_time(line):
        code, out, err = asked([*line, "--book", "shop.db"] if "--book" not in line else line)
    assert code in CODES, (line, code, err)
    assert "Traceback" not in out + err
    if code in (2, 3, 4):
        assert kept(book) == before, line
        assert out or err, line
    if code == 2 and "--json" in line:
        told = json.loads(out)["error"]
        assert told["message"]


@pytest.fixture(autouse=True)
def serving_nothing(monkeypatch):
    """What would answer requests, or open a browser, ends at once; nothing publishes for minutes."""
    monkeypatch.setattr("jointlab.app.web.serving.run", lambda *_: None)
    monkeypatch.setattr("webbrowser.open", lambda *_: True)
    monkeypatch.setattr("jointlab.app.publishing.publication_files", lambda *_, **__: {"index.html": b""})


def test_every_command_is_asked():
    assert {command.split()[0] for command in (*LIGHT, *HEAVY)} == set(ORDER)


def ask(command: str, shop: Path, *, examples: int) -> None:
    """Always the same examples."""

    @settings(max_examples=examples, derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(lines(command))
    def answered(line):
        check_answer(line, shop)

    answered()


@pytest.mark.parametrize("command", [*LIGHT, *HEAVY])
def test_any_words_behind_a_command_are_answered(command, shop):
    ask(command, shop, examples=1 if command in HEAVY else 2)


@pytest.mark.performance
@pytest.mark.parametrize("command", [*LIGHT, *HEAVY])
def test_a_great_many_words_behind_a_command_are_answered(command, shop):
    ask(command, shop, examples=150 if command in HEAVY else 300)
