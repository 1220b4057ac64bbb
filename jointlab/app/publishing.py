"""From the book to a published page: gather finished values, hand them to the publish room, write what it gives."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from jointlab import __version__
from jointlab.app import enveloping, workflow
from jointlab.app.answers import decide_document
from jointlab.app.drawing_files import image_form
from jointlab.app.field_entries import field_of
from jointlab.app.folders import refuse_occupied, write_folder
from jointlab.app.foreign import own_pulls
from jointlab.app.other_combinations import names_a_combination
from jointlab.book.stored import EVERY_PULL, PullSelection
from jointlab.errors import InputError, Problem
from jointlab.mount.document import document_of, toml_text
from jointlab.pool.values import FieldEntry
from jointlab.publish.card import CardNote, card_record, mount_card
from jointlab.publish.disclosure import Private, disclosed
from jointlab.publish.envelope_figure import envelope_figure
from jointlab.publish.methods import methods_used
from jointlab.publish.package import DESCRIPTOR
from jointlab.publish.page import MOST_PLOTS
from jointlab.publish.publication import (
    FittedCurve,
    PlottedBreak,
    ProbabilityPlot,
    Publication,
    PublishedMount,
    PublishedPull,
)
from jointlab.publish.published_files import MOUNTS, PAGE, published_files
from jointlab.publish.strengths_figure import strengths_figure
from jointlab.publish.typesetting import Paper
from jointlab.record.dates import not_iso
from jointlab.record.names import matched
from jointlab.record.pull import Pull
from jointlab.record.questions import questions_of
from jointlab.record.vocabulary import Action
from jointlab.strength.band import simultaneous_band
from jointlab.strength.curve import weaker_share
from jointlab.strength.sample import StrengthSample
from jointlab.strength.turnbull import plotting_positions
from jointlab.strength.values import CombinationStrength
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.joint_stress_of import joint_stress_of, stress_at_mpa
from jointlab.verdict.operating import OperatingLine

if TYPE_CHECKING:
    from jointlab.book.book import Book

FEWEST_PLOTTED = 3
PLOT_BEYOND = 1.25
CURVE_POINTS = 200

MOST_BANDED = 500
"""Pulls of a combination up to which limits are drawn around its plot: of more they lie too near the pulls to be told
apart, and take the memory of all else (source key judgement)."""

DRAWN_WITH = ("matplotlib", "numpy", "scipy", "typst")
"""Libraries whose other version may draw or round otherwise; the descriptor names the versions used."""

PULLS = "pulls.csv"


@dataclass(frozen=True, slots=True)
class Wish:
    """How a publication is headed, and what the shop lets others see of what is otherwise private.

    ``envelopes``: whether each mount also tells what other sizes would stand. ``licence`` is that of the data.
    """

    title: str
    question: str | None = None
    shop: str | None = None
    provenance: str | None = None
    dated_on: str | None = None
    disclosing: frozenset[Private] = frozenset()
    envelopes: bool = False
    licence: str = "CC-BY-4.0"
    paper: Paper = Paper.A4

    def __post_init__(self) -> None:
        """Refuse what a page cannot show, before anything is worked out."""
        lines = {"title": self.title, "question": self.question, "shop": self.shop, "licence": self.licence}
        problems = [
            Problem("must be one line without control characters", column=f"--{name}", value=text)
            for name, text in lines.items()
            if text is not None and not text.isprintable()
        ]
        if self.dated_on is not None and (told := not_iso(self.dated_on)) is not None:
            problems.append(Problem(told, column="--date", value=self.dated_on))
        if problems:
            raise InputError(problems, subject="publish")


@dataclass(frozen=True, slots=True)
class Asked:
    """A mount to be published: the answer, and the file that described it where there is one."""

    decision: workflow.Decision
    described: bytes | None = None


def publish_results(
    place: str | Path | None,
    directory: Path,
    wish: Wish,
    *,
    mounts: Iterable[Path] = (),
    selection: PullSelection = EVERY_PULL,
    replacing: bool = False,
) -> Path:
    """Write page, PDF, figures and data package of a selection to a folder; gives the page.

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
    refuse_occupied(directory, replacing=replacing)
    asked = tuple(Asked(workflow.decide_mount(place, path), workflow.content_of(path)) for path in mounts)
    write_folder(directory, results_files(place, wish, asked, selection=selection))
    return directory / PAGE


def results_files(
    place: str | Path | None, wish: Wish, asked: Sequence[Asked] = (), *, selection: PullSelection = EVERY_PULL
) -> dict[str, bytes]:
    """Every file of a publication of a selection by its relative name; nothing is written.

    Raises
    ------
    InputError
        There are no pulls to publish, two mounts have one name, or one rests on pulls that are not published.
    """
    with workflow.open_book(place) as book:
        pulls = tuple(stored.pull for stored in own_pulls(book, book.pulls(selection)))
        chain = book.head()
        photos = _photos_of(book, selection, asked) if Private.PHOTOS in wish.disclosing else {}
        field, mark = field_of(book, pulls), _mark_of(book)
    return publication_files(pulls, wish, asked, chain=chain, mark=mark, photos=photos, field=field)


def _mark_of(book: Book) -> str | None:
    """What tells publications of one book from those of others, and nothing else of it: the same for all of them."""
    for stored in book.pulls(PullSelection(limit=1)):
        first = book.history(stored.id)[0]
        return hashlib.sha256(f"jointlab publication {first.digest}".encode("ascii")).hexdigest()
    return None


def _photos_of(book: Book, selection: PullSelection, asked: Sequence[Asked]) -> dict[str, bytes]:
    """Photos of the published pulls and mounts; what a camera knew of place and time was taken off on their way in."""
    shown = {stored.id for stored in own_pulls(book, book.pulls(selection))}
    mounts = {matched(each.decision.name): f"mount-{number}" for number, each in enumerate(asked, start=1)}
    named: dict[str, bytes] = {}
    for photo in book.photos():
        of = mounts.get(matched(photo.mount)) if photo.mount else f"pull-{photo.pull_id}"
        if of is not None and (photo.mount or photo.pull_id in shown):
            named[f"{of}-{photo.id}.jpg"] = book.photo_bytes(photo.id)
    return named


def publish_pulls(
    pulls: Sequence[Pull],
    directory: Path,
    wish: Wish,
    asked: Sequence[Asked] = (),
    *,
    replacing: bool = False,
    chain: str | None = None,
    photos: Mapping[str, bytes] | None = None,
) -> Path:
    """Write page, PDF, figures and data package of these pulls to a folder; gives the page.

    Raises
    ------
    InputError
        The folder holds something already, there are no pulls, or a mount rests on pulls that are not published.
    """
    refuse_occupied(directory, replacing=replacing)
    files = publication_files(pulls, wish, asked, chain=chain, photos=photos)
    write_folder(directory, files)
    return directory / PAGE


def publication_files(
    pulls: Sequence[Pull],
    wish: Wish,
    asked: Sequence[Asked] = (),
    *,
    chain: str | None = None,
    mark: str | None = None,
    photos: Mapping[str, bytes] | None = None,
    field: tuple[FieldEntry, ...] = (),
) -> dict[str, bytes]:
    """Every file of a publication by its relative name; nothing is written.

    ``chain`` is the digest of the book's last entry, ``mark`` what all publications of that book have in common.

    Raises
    ------
    InputError
        There are no pulls, two mounts have one name, or a mount rests on pulls that are not published.
    """
    if not pulls:
        problem = Problem("there are no pulls of that kind: record or import some first")
        raise InputError(problem, subject="publish")
    _check_mounts(pulls, asked)
    asked = [replace(each, decision=_by_its_own_pulls(each.decision)) for each in asked]
    decisions = [each.decision for each in asked]
    shown = tuple(sorted(photos or ()))
    made = replace(publication_of(pulls, wish, decisions, most_plots=MOST_PLOTS), field=field, photos=shown)
    publication = disclosed(made, chosen=wish.disclosing)
    mounts: dict[str, bytes] = {}
    for each in asked:
        mounts[f"{each.decision.name}.json"] = verdict_file(each.decision)
        if each.described is not None:
            notes = Private.NOTES in wish.disclosing
            mounts[f"{each.decision.name}.toml"] = each.described if notes else without_comments(each.described)
    made_so = made_with(wish, asked) | ({} if mark is None else {"book": mark})
    return published_files(publication, mounts=mounts, photos=photos, chain=chain, made=made_so, paper=wish.paper)


def _by_its_own_pulls(decision: workflow.Decision) -> workflow.Decision:
    """Without ways out by another combination: they hang on looks the book keeps, and no reader could check."""
    ways = tuple(way for way in decision.verdict.would_settle if not names_a_combination(way))
    return replace(decision, verdict=replace(decision.verdict, would_settle=ways))


def without_comments(described: bytes) -> bytes:
    """The description of a mount anew from its keys alone: what stands in comments was not meant for others."""
    text = described.decode("utf-8-sig")
    return toml_text(document_of(text, name="the mount")).encode("utf-8")


def verdict_file(decision: workflow.Decision) -> bytes:
    """The verdict as ``decide --json`` prints it."""
    return (decide_document(decision.verdict).model_dump_json(indent=2) + "\n").encode("utf-8")


def made_with(wish: Wish, asked: Sequence[Asked]) -> dict[str, Any]:
    """What the descriptor says beside the data, so that the same can be made from it again."""
    return {
        "paper": str(wish.paper),
        "envelopes": wish.envelopes,
        "disclosed": sorted(str(private) for private in wish.disclosing),
        "libraries": {name: version(name) for name in DRAWN_WITH},
        "mounts": [_asked_again(each) for each in asked],
    }


def _asked_again(each: Asked) -> dict[str, Any]:
    decision = each.decision
    return {
        "name": decision.name,
        "verdict": f"{MOUNTS}/{decision.name}.json",
        "described": None if each.described is None else f"{MOUNTS}/{decision.name}.toml",
        "look": None if decision.look is None else dataclasses.asdict(decision.look),
        "proofed": decision.proofed,
        "glue_ups": list(decision.glue_ups),
    }


def _check_mounts(pulls: Sequence[Pull], asked: Sequence[Asked]) -> None:
    """A verdict whose pulls are not beside it cannot be checked by anyone."""
    published = {(pull.joint.combination.key, pull.batch) for pull in pulls}
    problems = []
    names: set[str] = set()
    for each in asked:
        name, combination = each.decision.name, each.decision.setup.joint.combination
        if name in names:
            problems.append(Problem("two mounts of that name: rename one of the files", column="--mount", value=name))
        names.add(name)
        if any((combination.key, batch) not in published for batch in each.decision.glue_ups):
            told = f"its verdict rests on pulls of {combination} that are not among those published: publish them too"
            problems.append(Problem(told, column="--mount", value=name))
    if problems:
        raise InputError(problems, subject="publish")


def disclosing(*, shop: bool, notes: bool, photos: bool = False) -> frozenset[Private]:
    """What the shop lets others see beside its pulls; ``notes`` are those of pulls and the comments in mount files."""
    chosen = {Private.SHOP: shop, Private.NOTES: notes, Private.PHOTOS: photos}
    return frozenset(private for private, shown in chosen.items() if shown)


def today() -> str:
    """Today's ISO date, where the shop is."""
    return datetime.now().astimezone().date().isoformat()


def write_card(
    decision: workflow.Decision, path: Path, *, decided_by: str | None = None, paper: Paper = Paper.A4
) -> Path:
    """Write the printable card of a decided mount, a PDF of one sheet.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    mount, dated_on = _published_mount(decision), today()
    code = card_record(mount, dated_on=dated_on)
    note = CardNote(dated_on=dated_on, program_version=__version__, decided_by=decided_by, code=code)
    workflow.write_bytes(path, mount_card(mount, note, paper=paper))
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


def publication_of(
    pulls: Sequence[Pull], wish: Wish, decisions: Sequence[workflow.Decision], *, most_plots: int | None = None
) -> Publication:
    """Everything the page says, as finished values; probability plots of the first ``most_plots`` combinations."""
    published = tuple(_published_pull(pull) for pull in pulls)
    known = {id(each.pull): each.stress for each in published}
    strengths = workflow.strengths_of(
        pulls,
        coverage=workflow.USUAL_COVERAGE,
        confidence=workflow.USUAL_CONFIDENCE,
        detail=workflow.Detail.DESCRIBED,
        stress_of=lambda pull: known[id(pull)],
    )
    mounts = tuple(_published_mount(decision, enveloped=wish.envelopes) for decision in decisions)
    plots, left_out = _plots(published, strengths, most_plots)
    dated_on = today() if wish.dated_on is None else wish.dated_on
    return Publication(
        title=wish.title,
        dated_on=dated_on,
        program_version=__version__,
        pulls=published,
        strengths=strengths,
        mounts=mounts,
        plots=plots,
        plots_left_out=left_out,
        methods=methods_used(strengths, mounts),
        question=wish.question,
        shop=wish.shop,
        provenance=wish.provenance,
        pulls_file=PULLS,
        descriptor_file=DESCRIPTOR,
        licence=wish.licence,
    )


def _published_mount(decision: workflow.Decision, *, enveloped: bool = False) -> PublishedMount:
    return PublishedMount(
        name=decision.name,
        setup=decision.setup,
        demand=decision.demand,
        verdict=decision.verdict,
        envelope=enveloping.envelope_around(decision) if enveloped else (),
    )


def _published_pull(pull: Pull) -> PublishedPull:
    at_load = stress_at_mpa(pull, load=pull.loading.load)
    return PublishedPull(pull, joint_stress_of(pull), questions_of(pull, stress_mpa=at_load))


def _plots(
    published: Sequence[PublishedPull], strengths: Sequence[CombinationStrength], most: int | None
) -> tuple[tuple[ProbabilityPlot, ...], int]:
    """A probability plot for each combination and action with pulls enough to show a shape; how many are left out."""
    own: dict[tuple[tuple[str, str, str], Action], list[JointStress]] = {}
    for each in published:
        if each.pull.excluded_because is None:
            own.setdefault((each.pull.joint.combination.key, each.pull.action), []).append(each.stress)
    shown = []
    for strength in strengths:
        sample = StrengthSample.of_stresses(own.get((strength.combination.key, strength.action), []))
        if sample.n >= FEWEST_PLOTTED and not sample.held.all():
            shown.append((sample, strength))
    drawn = shown if most is None else shown[:most]
    return tuple(_plot_of(sample, strength) for sample, strength in drawn), len(shown) - len(drawn)


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
        strength.combination,
        strength.action,
        positions,
        curves,
        strength.working_bound,
        findings=strength.findings,
        band=simultaneous_band(sample) if sample.n <= MOST_BANDED else None,
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
