"""From the book to a published page: gather finished values, hand them to the publish room, write what it gives."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from jointlab import __version__
from jointlab.app import workflow
from jointlab.app.drawing_files import image_form
from jointlab.book.stored import EVERY_PULL, PullSelection
from jointlab.errors import InputError, Problem
from jointlab.publish.card import CardNote, mount_card
from jointlab.publish.disclosure import Private, disclosed
from jointlab.publish.envelope_figure import envelope_figure
from jointlab.publish.methods import methods_used
from jointlab.publish.page import results_page
from jointlab.publish.publication import (
    FittedCurve,
    PlottedBreak,
    ProbabilityPlot,
    Publication,
    PublishedMount,
    PublishedPull,
)
from jointlab.publish.strengths_figure import strengths_figure
from jointlab.record.csv_file import written_csv
from jointlab.record.dates import iso_text
from jointlab.record.pull import Pull
from jointlab.record.questions import questions_of
from jointlab.strength.curve import weaker_share
from jointlab.strength.sample import StrengthSample
from jointlab.strength.turnbull import plotting_positions
from jointlab.strength.values import CombinationStrength
from jointlab.stress.joint_stress_of import joint_stress_of, stress_at_mpa
from jointlab.verdict.operating import OperatingLine

FEWEST_PLOTTED = 3
PLOT_BEYOND = 1.25
CURVE_POINTS = 200

PAGE = "index.html"
PULLS = "pulls.csv"
OURS = frozenset({PAGE, PULLS})


@dataclass(frozen=True, slots=True)
class Wish:
    """How a publication is headed, and what the shop lets others see of what is otherwise private.

    ``envelopes``: whether each mount also tells what other sizes would stand.
    """

    title: str
    question: str | None = None
    shop: str | None = None
    provenance: str | None = None
    dated_on: str | None = None
    disclosing: frozenset[Private] = frozenset()
    envelopes: bool = False


def publish_results(
    place: str | Path | None,
    directory: Path,
    wish: Wish,
    *,
    mounts: Iterable[Path] = (),
    selection: PullSelection = EVERY_PULL,
    replacing: bool = False,
) -> Path:
    """Write the page and the pulls of a selection to a folder; gives the page.

    Parameters
    ----------
    mounts
        Mount files to decide on the page.
    replacing
        Whether what an earlier publication left in the folder may be replaced.

    Raises
    ------
    InputError
        The folder holds something already, a mount file has problems, or there are no pulls to publish.
    """
    decisions = tuple(workflow.decide_mount(place, mount) for mount in mounts)
    with workflow.open_book(place) as book:
        pulls = tuple(stored.pull for stored in book.pulls(selection))
    return publish_pulls(pulls, directory, wish, decisions, replacing=replacing)


def publish_pulls(
    pulls: Sequence[Pull],
    directory: Path,
    wish: Wish,
    decisions: Sequence[workflow.Decision] = (),
    *,
    replacing: bool = False,
) -> Path:
    """Write the page and these pulls to a folder; gives the page.

    Raises
    ------
    InputError
        The folder holds something already, or there are no pulls.
    """
    _refuse_occupied(directory, replacing=replacing)
    if not pulls:
        problem = Problem("there are no pulls of that kind: record or import some first")
        raise InputError(problem, subject="publish")
    publication = disclosed(publication_of(pulls, wish, decisions), chosen=wish.disclosing)
    page = results_page(publication)
    directory.mkdir(parents=True, exist_ok=True)
    workflow.write_text(directory / PULLS, written_csv(published.pull for published in publication.pulls))
    workflow.write_text(directory / PAGE, page)
    return directory / PAGE


def _refuse_occupied(directory: Path, *, replacing: bool) -> None:
    if not directory.exists():
        return
    if not directory.is_dir():
        raise InputError(Problem("is a file: name a folder", value=str(directory)), subject=str(directory))
    found = {entry.name for entry in directory.iterdir()}
    if found and not replacing:
        problem = Problem("is not empty: name a new folder, or add --replace", value=str(directory))
        raise InputError(problem, subject=str(directory))
    foreign = sorted(found - OURS)
    if foreign:
        problem = Problem(f"holds files that no publication wrote ({', '.join(foreign[:5])}): name another folder")
        raise InputError(problem, subject=str(directory))


def disclosing(*, shop: bool, notes: bool) -> frozenset[Private]:
    """What the shop lets others see beside its pulls."""
    chosen = {Private.SHOP: shop, Private.NOTES: notes}
    return frozenset(private for private, shown in chosen.items() if shown)


def today() -> str:
    """Today's ISO date, where the shop is."""
    return datetime.now().astimezone().date().isoformat()


def write_card(decision: workflow.Decision, path: Path, *, decided_by: str | None = None) -> Path:
    """Write the printable card of a decided mount, a PDF of one sheet.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    note = CardNote(dated_on=today(), program_version=__version__, decided_by=decided_by)
    workflow.write_bytes(path, mount_card(_published_mount(decision), note))
    return path


def plot_envelope(decision: workflow.Decision, lines: Sequence[OperatingLine], path: Path) -> Path:
    """Draw what other sizes of a mount would stand and allow to an .svg or .png file.

    Raises
    ------
    InputError
        The file is of another kind, or cannot be written.
    """
    form = image_form(path)
    workflow.write_bytes(path, envelope_figure(decision.setup, lines, form=form))
    return path


def publication_of(pulls: Sequence[Pull], wish: Wish, decisions: Sequence[workflow.Decision]) -> Publication:
    """Everything the page says, as finished values."""
    strengths = workflow.strengths_of(pulls, coverage=workflow.USUAL_COVERAGE, confidence=workflow.USUAL_CONFIDENCE)
    mounts = tuple(_published_mount(decision, enveloped=wish.envelopes) for decision in decisions)
    dated_on = today() if wish.dated_on is None else iso_text(wish.dated_on)
    return Publication(
        title=wish.title,
        dated_on=dated_on,
        program_version=__version__,
        pulls=tuple(_published_pull(pull) for pull in pulls),
        strengths=strengths,
        mounts=mounts,
        plots=tuple(_plots(pulls, strengths)),
        methods=methods_used(strengths, mounts),
        question=wish.question,
        shop=wish.shop,
        provenance=wish.provenance,
        pulls_file=PULLS,
    )


def _published_mount(decision: workflow.Decision, *, enveloped: bool = False) -> PublishedMount:
    return PublishedMount(
        name=decision.name,
        setup=decision.setup,
        demand=decision.demand,
        verdict=decision.verdict,
        envelope=workflow.envelope_around(decision) if enveloped else (),
    )


def _published_pull(pull: Pull) -> PublishedPull:
    at_load = stress_at_mpa(pull, load=pull.loading.load)
    return PublishedPull(pull, joint_stress_of(pull), questions_of(pull, stress_mpa=at_load))


def _plots(pulls: Sequence[Pull], strengths: Sequence[CombinationStrength]) -> Iterator[ProbabilityPlot]:
    """A probability plot for each combination and action with pulls enough to show a shape."""
    for strength in strengths:
        own = [
            joint_stress_of(pull)
            for pull in pulls
            if pull.excluded_because is None
            and pull.action is strength.action
            and pull.joint.combination.key == strength.combination.key
        ]
        sample = StrengthSample.of_stresses(own)
        if sample.n >= FEWEST_PLOTTED and not sample.held.all():
            yield _plot_of(sample, strength)


def _plot_of(sample: StrengthSample, strength: CombinationStrength) -> ProbabilityPlot:
    positions = tuple(
        PlottedBreak(float(lower), None if np.isinf(upper) else float(upper), position)
        for lower, upper, position in zip(sample.lower_mpa, sample.upper_mpa, plotting_positions(sample), strict=True)
    )
    finite = sample.upper_mpa[np.isfinite(sample.upper_mpa)]
    highest = float(max(sample.lower_mpa.max(), finite.max(initial=0.0)))
    grid = np.linspace(0.0, PLOT_BEYOND * highest, CURVE_POINTS + 1)[1:]
    curves = tuple(
        FittedCurve(fit.family, grid, weaker_share(fit, stress_mpa=grid)) for fit in strength.families if fit.parameters
    )
    return ProbabilityPlot(
        strength.combination, strength.action, positions, curves, strength.working_bound, findings=strength.findings
    )


def plot_strengths(place: str | Path | None, selection: PullSelection, path: Path) -> Path:
    """Draw the strengths of a selection, every pull visible, to an .svg or .png file.

    Raises
    ------
    InputError
        The file is of another kind, or cannot be written.
    """
    form = image_form(path)
    with workflow.open_book(place) as book:
        pulls = tuple(stored.pull for stored in book.pulls(selection))
    strengths = workflow.strengths_of(
        pulls,
        coverage=workflow.USUAL_COVERAGE,
        confidence=workflow.USUAL_CONFIDENCE,
        detail=workflow.Detail.WORKING,
    )
    image = strengths_figure(tuple(_published_pull(pull) for pull in pulls), strengths, form=form)
    workflow.write_bytes(path, image)
    return path
