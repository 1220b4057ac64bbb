"""The whole job once, on the invented data that ships with the program."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import publishing, workflow
from jointlab.app.places import demo_files
from jointlab.errors import InputError, Problem

if TYPE_CHECKING:
    from jointlab.strength.values import CombinationStrength

TITLE = "Which scrap holds the bowl? Pull-apart tests of a demonstration shop"
QUESTION = "Is a waste block of this scrap strong enough to hold the cherry bowl blank on our lathe?"
PROVENANCE = "Invented for this demonstration: no joint was glued and none was pulled."
MARK = "shop-book.db"


@dataclass(frozen=True, slots=True)
class DemoRun:
    """What the demo did and where it left it."""

    book: Path
    pulls: Path
    mounts: tuple[Path, ...]
    strengths: tuple[CombinationStrength, ...]
    decisions: tuple[workflow.Decision, ...]
    page: Path


def run_demo(directory: Path, *, dated_on: str | None = None) -> DemoRun:
    """Write the demo's files, store its pulls, decide its mounts and publish the page.

    Running it again in the same folder gives the same.

    Raises
    ------
    InputError
        The folder holds something else.
    """
    _refuse_foreign(directory)
    pulls, mounts = _written_files(directory)
    book = directory / MARK
    workflow.import_file(book, pulls)
    strengths = workflow.strengths_in(book)
    decisions = tuple(workflow.decide_mount(book, mount) for mount in mounts)
    notes = publishing.disclosing(shop=False, notes=True)
    wish = publishing.Wish(title=TITLE, question=QUESTION, provenance=PROVENANCE, dated_on=dated_on, disclosing=notes)
    page = publishing.publish_results(book, directory / "page", wish, mounts=mounts, replacing=True)
    return DemoRun(book, pulls, mounts, strengths, decisions, page)


def _refuse_foreign(directory: Path) -> None:
    if directory.is_dir() and any(directory.iterdir()) and not (directory / MARK).exists():
        problem = Problem("holds other files: name a new folder, such as jointlab demo my-demo", value=str(directory))
        raise InputError(problem, subject=str(directory))


def _written_files(directory: Path) -> tuple[Path, tuple[Path, ...]]:
    source = demo_files()
    (directory / "mounts").mkdir(parents=True, exist_ok=True)
    pulls = directory / "pulls.csv"
    pulls.write_bytes((source / "pulls.csv").read_bytes())
    mounts = []
    for file in sorted((source / "mounts").iterdir(), key=lambda file: file.name):
        mounts.append(directory / "mounts" / file.name)
        mounts[-1].write_bytes(file.read_bytes())
    return pulls, tuple(mounts)
