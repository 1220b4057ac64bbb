"""Books to write in, on both engines, and pulls to write into them."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from jointlab.book.book import Book
from jointlab.record.pull import Pull
from jointlab.record.row import checked_row, pull_of

CELLS = {
    "batch": "G1",
    "specimen": "1",
    "tested_on": "2026-03-14",
    "glue": "Yellow glue",
    "substrate": "MDF",
    "action": "pull",
    "shape": "disc",
    "diameter_mm": "50",
    "load_n": "1500",
    "outcome": "broke",
}

PullMaker = Callable[..., Pull]


@pytest.fixture
def pull_of_cells() -> PullMaker:
    """A good pull, with these cells instead; None leaves a cell blank."""

    def make(**cells: str | None) -> Pull:
        written = {name: text for name, text in {**CELLS, **cells}.items() if text is not None}
        return pull_of(checked_row(written), entered=(("load_n", written.get("load_n", "")),))

    return make


@pytest.fixture
def place(tmp_path: Path) -> str:
    return str(tmp_path / "shop.db")


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty book made once, since making one loads the migrations."""
    path = tmp_path_factory.mktemp("book") / "empty.db"
    Book.open(path).close()
    return path


@pytest.fixture
def book(place: str, empty_book: Path) -> Iterator[Book]:
    shutil.copyfile(empty_book, place)
    with Book.open(place) as opened:
        yield opened


class Server:
    """A PostgreSQL of the tests' own, reached through a socket in its folder."""

    def __init__(self, programs: Path, folder: Path) -> None:
        self._programs, self._folder, self._numbers = programs, folder, count(1)
        # PostgreSQL refuses to run as the superuser
        self._as: dict[str, Any] = {"user": "postgres"} if os.geteuid() == 0 else {}

    def run(self, program: str, *arguments: str) -> None:
        command = [str(self._programs / program), *arguments]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, timeout=120, cwd=self._folder, **self._as)

    def start(self) -> None:
        if self._as:
            shutil.chown(self._folder, "postgres")
        rights = ["--auth=trust", "--username=keeper", "--encoding=UTF8", "--locale=C"]
        self.run("initdb", "-D", "cluster", *rights)
        settings = f"-c listen_addresses='' -c fsync=off -k {self._folder}"  # the tests end no power
        self.run("pg_ctl", "-D", "cluster", "-w", "-l", "server.log", "-o", settings, "start")

    def stop(self) -> None:
        self.run("pg_ctl", "-D", "cluster", "-w", "-m", "immediate", "stop")

    def new_database(self) -> str:
        """Address of an empty database."""
        name = f"shop{next(self._numbers)}"
        self.run("createdb", "-h", str(self._folder), "-U", "keeper", name)
        return f"postgresql://keeper@/{name}?host={self._folder}"


def _programs() -> Path:
    found = shutil.which("pg_ctl")
    places = [Path(found).resolve().parent] if found else sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    if not places:
        pytest.fail("tests marked postgresql need PostgreSQL's own programs: install the package postgresql")
    return places[-1]


@pytest.fixture(scope="session")
def postgresql_server() -> Iterator[Server]:
    with tempfile.TemporaryDirectory(prefix="jointlab-pg-") as folder:
        server = Server(_programs(), Path(folder))
        server.start()
        yield server
        server.stop()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def any_place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where no book is yet, on each engine."""
    if request.param == "postgresql":
        server: Server = request.getfixturevalue("postgresql_server")
        return server.new_database()
    return str(tmp_path / "shop.db")


@pytest.fixture
def any_book(any_place: str) -> Iterator[Book]:
    with Book.open(any_place) as opened:
        yield opened
