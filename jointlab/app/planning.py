"""Plan tests before the first pull: from words on the command line to a plan, kept, printed, and followed up."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from jointlab import __version__
from jointlab.app import workflow
from jointlab.app.drawing_files import image_form
from jointlab.app.looking import DoubtLeft, doubts_left
from jointlab.app.plan_documents import KeptPlan, plan_document, plan_of
from jointlab.book.stored import PaperKind, PullSelection, StoredPaper
from jointlab.errors import InputError, Problem, UnknownEntryError
from jointlab.plan.bench_sheet import table_to_fill
from jointlab.plan.plan_tests import (
    DEFAULT_EACH,
    DEFAULT_METHOD,
    LEAST_EACH,
    MOST_EACH,
    Terms,
    plan_tests,
    within_reach,
)
from jointlab.plan.progress import progress_of
from jointlab.plan.values import Method, SeeDifference, ShowStrength, TestPlan, Wish
from jointlab.record.joint import Combination, Disc, Outline, Rectangle, Ring
from jointlab.record.names import tidied
from jointlab.record.vocabulary import Action
from jointlab.units import Quantity

if TYPE_CHECKING:
    from jointlab.book.book import Book
    from jointlab.record.rig import Rig

WORDED = re.compile(r"(?P<glue>.+?) on (?P<substrate>.+?)(?: \((?P<preparation>[^()]+)\))?")
FORM = '"GLUE on SUBSTRATE" or "GLUE on SUBSTRATE (PREPARATION)"'

UNNAMED = "plan"
"""What a plan that is not to be kept is called."""

SHEETS, TABLE = "bench-sheets.pdf", "to-fill.csv"

_STRENGTH_MPA, _SHARE_PCT, _SIZE_MM = (0.001, 1000.0), (0.01, 1000.0), (0.1, 10_000.0)
WITHIN = {
    "expected_mpa": _STRENGTH_MPA, "hold_mpa": _STRENGTH_MPA, "difference_pct": _SHARE_PCT, "spread_pct": _SHARE_PCT,
    "cure_h": (0.0, 100_000.0), "diameter_mm": _SIZE_MM, "hole_mm": _SIZE_MM, "width_mm": _SIZE_MM,
    "depth_mm": _SIZE_MM, "arm_mm": _SIZE_MM,
}  # fmt: skip
"""No joint is made beyond these, and arithmetic fails long beyond them (source: judgement)."""


@dataclass(frozen=True, slots=True)
class PlanWords:
    """A plan as a shop asks for it, in the words and units of the command line.

    Parameters
    ----------
    hold_mpa, difference_pct
        The wish, one of the two; neither: what ``each`` specimens in every glue-up can show.
    spread_pct
        Standard deviation of ln strength supposed [%].
    looks
        How often the evidence is looked at, always after a whole glue-up; None: once.
    each
        Specimens of every combination in one glue-up; None: as many as the wish needs.
    name
        Names the plan and its glue-ups; None: it is not to be kept.
    rig
        Name of a rig in the book; None: the only one that fits, if there is one.
    diameter_mm, hole_mm, width_mm, depth_mm, arm_mm
        Of the specimens; None: a 50 mm disc, the rig's arm or 300 mm.
    """

    combinations: tuple[str, ...]
    expected_mpa: float
    glued_from: str
    hold_mpa: float | None = None
    difference_pct: float | None = None
    spread_pct: float = 25.0
    glue_ups: int = 2
    days_between: int = 1
    cure_h: float = 168.0
    looks: int | None = None
    each: int | None = None
    name: str | None = None
    control: str | None = None
    rig: str | None = None
    action: Action = Action.PRY
    diameter_mm: float | None = None
    hole_mm: float | None = None
    width_mm: float | None = None
    depth_mm: float | None = None
    arm_mm: float | None = None
    seed: int = 1

    @property
    def terms(self) -> Terms:
        """How the shop will go about it."""
        return Terms(
            name=UNNAMED if self.name is None else tidied(self.name),
            glued_from=self.glued_from,
            days_between=self.days_between,
            cure_h=self.cure_h,
            glue_ups=self.glue_ups,
            planned_looks=self.looks,
            each=self.each,
        )

    @property
    def outline(self) -> Outline:
        """Outline of a specimen."""
        if self.width_mm is not None or self.depth_mm is not None:
            return Rectangle(self.width_mm or self.depth_mm or 0.0, self.depth_mm or self.width_mm or 0.0)
        diameter_mm = _USUAL.diameter_mm if self.diameter_mm is None else self.diameter_mm
        return Disc(diameter_mm) if self.hole_mm is None else Ring(diameter_mm, self.hole_mm)


_USUAL = Disc(50.0)
_USUAL_ARM_MM = DEFAULT_METHOD.arm_mm


def planned(place: str | Path | None, words: PlanWords) -> TestPlan:
    """The plan a shop asks for, with the rig of its book; nothing is kept yet.

    Raises
    ------
    InputError
        With every problem of the wish at once.
    UnknownEntryError
        The book has no rig of that name.
    """
    _refuse_beyond(words)
    rig = _rig_of(place, words)
    arm_mm = words.arm_mm
    if arm_mm is None and words.action is Action.PRY:
        arm_mm = _USUAL_ARM_MM if rig is None or rig.arm_mm is None else rig.arm_mm
    terms = words.terms
    if words.hold_mpa is None and words.difference_pct is None and words.each is None:
        terms = replace(terms, each=DEFAULT_EACH)
    wish = wish_of(
        hold_mpa=words.hold_mpa,
        difference_pct=words.difference_pct,
        expected_mpa=words.expected_mpa,
        spread_pct=words.spread_pct,
    )
    return plan_for(
        words.combinations,
        wish=wish or open_wish(words, terms),
        terms=terms,
        seed=words.seed,
        control=words.control,
        method=Method(words.action, words.outline, arm_mm),
        rig=rig,
    )


def doubts_left_for(place: str | Path | None, plan: TestPlan) -> tuple[DoubtLeft, ...]:
    """What earlier looks left of the doubt, for each combination of a plan that has been looked at: its looks share it.

    Nothing where neither a book nor a name is given: such a plan is an idea, and no book is opened for it.
    """
    if place is None and plan.name == UNNAMED:
        return ()
    with workflow.open_book(place) as book:
        return doubts_left(book, plan.combinations)


def _refuse_beyond(words: PlanWords) -> None:
    """What is 0 or less is told with the other problems of the plan."""
    given = ((name, getattr(words, name), low, high) for name, (low, high) in WITHIN.items())
    problems = [
        Problem(f"must be from {low:g} to {high:g}", column=name, value=f"{value:g}", allowed=f"{low:g} to {high:g}")
        for name, value, low, high in given
        if value is not None and (0.0 < value < low or value > high)
    ]
    if problems:
        raise InputError(problems, subject="the plan")


def open_wish(words: PlanWords, terms: Terms) -> Wish:
    """What the specimens of these terms can show: of one combination a strength, of several a difference."""
    spread, count = words.spread_pct / 100.0, len(words.combinations)
    each = DEFAULT_EACH if terms.each is None else terms.each
    supposed: Wish = SeeDifference(_ANY_RATIO, words.expected_mpa, spread)
    if count < 2:
        supposed = ShowStrength(words.expected_mpa, words.expected_mpa, spread)
    possible = words.expected_mpa > 0.0 and spread > 0.0 and terms.glue_ups > 0 and LEAST_EACH <= each <= MOST_EACH
    if not possible:
        return supposed  # told with the other problems of the plan
    return within_reach(count, supposed, terms, each=each, against_control=words.control is not None)


_ANY_RATIO = 2.0


def _rig_of(place: str | Path | None, words: PlanWords) -> Rig | None:
    """The rig named, or the only one that gives what the action needs."""
    if words.rig is None and words.name is None and place is None:
        return None
    loads = Quantity.TORQUE if words.action is Action.TWIST else Quantity.FORCE
    with workflow.open_book(place) as book:
        if words.rig is not None:
            return book.rig(words.rig).rig
        fitting = [stored.rig for stored in book.rigs() if stored.rig.kind.loads is loads]
    return fitting[0] if len(fitting) == 1 else None


def plan_for(
    combinations: Sequence[str],
    *,
    wish: Wish,
    terms: Terms,
    seed: int,
    control: str | None = None,
    method: Method = DEFAULT_METHOD,
    rig: Rig | None = None,
) -> TestPlan:
    """Specimens and glue-ups for what is wished, the orders drawn by lot from a seed.

    Raises
    ------
    InputError
        With every problem of the wish at once.
    """
    named = combinations_of(combinations)
    against = None if control is None else combinations_of([control])[0]
    return plan_tests(
        named, wish=wish, terms=terms, method=method, rig=rig, control=against, rng=np.random.default_rng(seed)
    )


def combinations_of(words: Sequence[str]) -> tuple[Combination, ...]:
    """The combinations these words name.

    Raises
    ------
    InputError
        With a problem for each that does not read as glue on substrate.
    """
    found = [(word, WORDED.fullmatch(tidied(word))) for word in words]
    problems = [
        Problem(f"must be written {FORM}", column="--combination", value=word, allowed=FORM)
        for word, match in found
        if match is None
    ]
    if problems:
        raise InputError(problems, subject="the plan")
    return tuple(
        Combination(match["glue"], match["substrate"], match["preparation"] or "") for _, match in found if match
    )


def wish_of(
    *, hold_mpa: float | None, difference_pct: float | None, expected_mpa: float, spread_pct: float
) -> Wish | None:
    """The wish: a strength to show, or a difference to see; None where neither is asked for.

    Raises
    ------
    InputError
        Both are given.
    """
    if hold_mpa is not None and difference_pct is not None:
        problem = Problem("wish for one thing: --hold_mpa to show a strength, or --difference_pct to see a difference")
        raise InputError(problem, subject="the plan")
    spread = spread_pct / 100.0
    if hold_mpa is not None:
        return ShowStrength(required_mpa=hold_mpa, expected_mpa=expected_mpa, log_sd=spread)
    if difference_pct is not None:
        return SeeDifference(ratio=1.0 + difference_pct / 100.0, expected_mpa=expected_mpa, log_sd=spread)
    return None


def keep_plan(
    place: str | Path | None, plan: TestPlan, *, reason: str | None = None, by: str | None = None
) -> StoredPaper:
    """Keep a plan in the book under its name; one that is known by that name becomes its next revision.

    Raises
    ------
    InputError
        The name is taken and no reason is given for changing it, or pulls of a glue-up of that name are in the book.
    """
    document = plan_document(plan).model_dump(mode="json")
    with workflow.open_book(place) as book:
        if _known(book, plan.name) is None:
            _refuse_taken(book, plan)
        elif not (reason or "").strip():
            told = "a plan of that name is kept: choose another name, or say why it changes with --reason"
            raise InputError(Problem(told, column="--name", value=plan.name), subject="the plan")
        return book.keep_paper(PaperKind.PLAN, document, key=plan.name, by=by, reason=reason)


def _known(book: Book, name: str) -> StoredPaper | None:
    try:
        return book.paper(PaperKind.PLAN, name)
    except UnknownEntryError:
        return None


def _refuse_taken(book: Book, plan: TestPlan) -> None:
    problems = [
        Problem("pulls of that glue-up are in the book: give the plan another name", column="--name", value=one.batch)
        for one in plan.glue_ups
        if book.pulls(PullSelection(batch=one.batch))
    ]
    if problems:
        raise InputError(problems, subject="the plan")


def kept_plan(place: str | Path | None, name: str) -> KeptPlan:
    """The plan of that name as it stands now, and how far its pulls have come.

    Raises
    ------
    UnknownEntryError
        There is none; the nearest names are told.
    """
    with workflow.open_book(place) as book:
        return followed(book, book.paper(PaperKind.PLAN, name))


def kept_plans(place: str | Path | None) -> tuple[KeptPlan, ...]:
    """Every plan of the book, the oldest first."""
    with workflow.open_book(place) as book:
        return tuple(followed(book, paper) for paper in book.papers(PaperKind.PLAN))


def followed(book: Book, paper: StoredPaper) -> KeptPlan:
    """A plan of the book with its pulls held against it."""
    plan = plan_of(paper.document)
    pulls = (stored.pull for glue_up in plan.glue_ups for stored in book.pulls(PullSelection(batch=glue_up.batch)))
    return KeptPlan(plan, paper.revision, paper.recorded_at[:10], progress_of(plan, pulls))


def write_table(plan: TestPlan, path: Path) -> Path:
    """Write the table to fill, which imports as it is once filled.

    Raises
    ------
    InputError
        The file is there already, perhaps filled, or cannot be written.
    """
    _refuse_filled(path)
    workflow.write_text(path, table_to_fill(plan))
    return path


def write_sheets(plan: TestPlan, directory: Path, *, dated_on: str) -> tuple[Path, ...]:
    """Write the bench sheets and the table to fill into a folder.

    Raises
    ------
    InputError
        The table is there already, perhaps filled, or the folder cannot be written.
    """
    from jointlab.publish.bench_sheets import SheetNote, bench_sheets_pdf

    _refuse_filled(directory / TABLE)
    sheets = bench_sheets_pdf(plan, SheetNote(dated_on=dated_on, program_version=__version__))
    _make_folder(directory)
    workflow.write_bytes(directory / SHEETS, sheets)
    return directory / SHEETS, write_table(plan, directory / TABLE)


def _make_folder(directory: Path) -> None:
    try:
        directory.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        problem = Problem(f"cannot be made: {error.strerror}", value=str(directory))
        raise InputError(problem, subject=str(directory)) from None


def _refuse_filled(path: Path) -> None:
    if path.exists():
        problem = Problem("is there already, and may be filled in: name another", value=str(path))
        raise InputError(problem, subject=str(path))


def plot_power(plan: TestPlan, path: Path) -> Path:
    """Draw the chance of success by specimens to an .svg or .png file.

    Raises
    ------
    InputError
        The file is of another kind, or cannot be written.
    """
    from jointlab.publish.power_figure import power_figure

    workflow.write_bytes(path, power_figure(plan, form=image_form(path)))
    return path
