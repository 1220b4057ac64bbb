"""Mounts in the shop book: taken up with their verdict, proofed, followed, ended, and set against what was said."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow
from jointlab.app.drawing_files import image_form
from jointlab.app.known_proofs import record_in, setup_of_paper
from jointlab.app.mount_documents import (
    MountPaper,
    ending_paper,
    event_paper,
    predicted_part,
    proof_paper,
)
from jointlab.book.book import Book
from jointlab.book.stored import PaperKind, StoredPhoto
from jointlab.errors import InputError, Problem
from jointlab.mount.document import document_of, with_settings
from jointlab.mount.setup_of import setup_of
from jointlab.record.joint import Disc, Outline, Rectangle, Ring
from jointlab.record.names import matched, tidied
from jointlab.record.photo import cleaned_photo
from jointlab.verdict.field_record import Ended, Event, FieldRecord, Predicted, Proofed, Removal

if TYPE_CHECKING:
    from jointlab.verdict.proof import ProofPlan


@dataclass(frozen=True, slots=True)
class Started:
    """A mount taken up: under what name, with which verdict."""

    name: str
    decision: workflow.Decision


@dataclass(frozen=True, slots=True)
class ProofPulled:
    """A proof as it was pulled: load on the bar, its height, its arm, in how many directions, and whether it held."""

    force_n: float
    height_mm: float
    arm_mm: float
    directions: int
    held: bool


@dataclass(frozen=True, slots=True)
class PriedOff:
    """Reading of the scale that pried a block off, and how far from the glue line it pulled [mm]."""

    column: str
    reading: str
    arm_mm: str


def start_mount(
    place: str | Path | None,
    path: Path,
    settings: Sequence[str] = (),
    *,
    name: str | None = None,
    photos: Sequence[Path] = (),
    reason: str | None = None,
    by: str | None = None,
) -> Started:
    """Take a mount up with the verdict used; a name known already is decided anew, with a reason.

    Raises
    ------
    InputError
        The mount has problems, a photo is none, or the name is taken and no reason is given.
    """
    pictures = [(file, cleaned_photo(workflow.content_of(file), name=file.name)) for file in photos]
    described = Described(path.name, workflow.text_of(path), tuple(settings))
    started = start_described(place, described, name=name, reason=reason, by=by)
    with workflow.open_book(place) as book:
        for file, picture in pictures:
            book.keep_photo(picture, mount=started.name, caption=file.stem, by=by)
    return started


@dataclass(frozen=True, slots=True)
class Described:
    """A mount as TOML text, under the name of its file, with settings on top."""

    file: str
    text: str
    settings: tuple[str, ...] = ()


def start_described(
    place: str | Path | None,
    described: Described,
    *,
    name: str | None = None,
    reason: str | None = None,
    by: str | None = None,
) -> Started:
    """Take a mount up that is described in words; raises what ``start_mount`` raises."""
    setup = setup_of(with_settings(document_of(described.text, name=described.file), described.settings))
    decision = workflow.decide_setup(place, setup, name=Path(described.file).stem, by=by)
    with workflow.open_book(place) as book:
        paper = MountPaper(
            decided=1 + _times_decided(book, name),
            file=described.file,
            description=described.text,
            settings=described.settings,
            combination=str(decision.setup.joint.combination),
            predicted=predicted_part(_predicted(decision)),
        )
        kept = book.keep_paper(PaperKind.MOUNT, paper.model_dump(mode="json"), key=name, reason=reason, by=by)
    return Started(kept.key, decision)


def _times_decided(book: Book, name: str | None) -> int:
    known = {matched(paper.key): paper.revision for paper in book.papers(PaperKind.MOUNT)}
    return 0 if name is None else known.get(matched(tidied(name)), 0)


def _predicted(decision: workflow.Decision) -> Predicted:
    from jointlab.verdict.interference import break_chance
    from jointlab.verdict.sentence import outcome_told

    verdict = decision.verdict
    chance = None if decision.evidence is None else break_chance(decision.setup, decision.evidence)
    return Predicted(
        verdict=verdict.verdict,
        label=outcome_told(verdict),
        margin_lower=verdict.margin_lower,
        margin_required=verdict.margin_required,
        stands_n=verdict.stands_n,
        catch=verdict.criteria.catch,
        break_chance=None if chance is None else chance.probability,
    )


def proof_for(place: str | Path | None, name: str, *, factor: float | None = None) -> ProofPlan:
    """How to proof a mount of the book.

    Raises
    ------
    UnknownEntryError
        The book has no mount of that name.
    """
    from jointlab.verdict.proof import proof_plan

    with workflow.open_book(place) as book:
        setup = setup_of_paper(_paper(book, name))
        pulls = workflow.pulls_of(book, setup.joint.combination)
    strengths = workflow.strengths_of(pulls, coverage=0.5, confidence=0.5, detail=workflow.Detail.WORKING)
    medians = [strength.working_bound.bound_mpa for strength in strengths if strength.action == "pry"]
    return proof_plan(setup, factor=factor, mean_mpa=medians[0] if medians else None)


def keep_proof(
    place: str | Path | None, name: str, pulled: ProofPulled, *, photos: Sequence[Path] = (), by: str | None = None
) -> tuple[FieldRecord, workflow.Decision]:
    """Take a proof down and decide the mount anew; gives its record and the verdict it has now."""
    from jointlab.verdict.proof import factor_reached

    with workflow.open_book(place) as book:
        paper = _paper(book, name)
        setup = setup_of_paper(paper)
        factor = factor_reached(setup, force_n=pulled.force_n, height_mm=pulled.height_mm, arm_mm=pulled.arm_mm)
        proof = Proofed(
            "", factor, pulled.force_n, pulled.height_mm, pulled.arm_mm, pulled.directions, held=pulled.held
        )
        _keep(book, PaperKind.PROOF, proof_paper(proof).model_dump(mode="json"), name, photos, by)
        record = record_in(book, book.paper(PaperKind.MOUNT, name))
    decision = workflow.decide_setup(place, setup, name=record.name, by=by)
    return record, decision


def keep_event(
    place: str | Path | None, name: str, event: Event, *, photos: Sequence[Path] = (), by: str | None = None
) -> FieldRecord:
    """Take down what happened to a mount."""
    _check_event(event)
    with workflow.open_book(place) as book:
        _keep(book, PaperKind.EVENT, event_paper(event).model_dump(mode="json"), name, photos, by)
        return record_in(book, book.paper(PaperKind.MOUNT, name))


def _check_event(event: Event) -> None:
    numbers = {"hours": event.hours, "top_rpm": event.top_rpm, **{f"{name}": count for name, count in event.catches}}
    problems = [
        Problem("must not be negative", column=f"--{name}", value=f"{value:g}", allowed="0 or more")
        for name, value in numbers.items()
        if value is not None and not 0 <= value < 1e6
    ]
    told = (event.phase, event.hours, event.top_rpm, event.inspection, event.note, *dict(event.catches).values())
    if not any(told):
        problems.append(Problem("says nothing: give a phase, hours, a speed, catches, an inspection or a note"))
    if problems:
        raise InputError(problems, subject="the event")


def end_mount(
    place: str | Path | None, name: str, ended: Ended, *, photos: Sequence[Path] = (), by: str | None = None
) -> FieldRecord:
    """Take down how a mount ended and how the block came off; a second ending puts the first right."""
    with workflow.open_book(place) as book:
        _keep(book, PaperKind.ENDING, ending_paper(ended).model_dump(mode="json"), name, photos, by)
        return record_in(book, book.paper(PaperKind.MOUNT, name))


def _keep(
    book: Book, kind: PaperKind, document: Mapping[str, object], name: str, photos: Sequence[Path], by: str | None
) -> None:
    key = book.paper(PaperKind.MOUNT, name).key
    pictures = [(file, cleaned_photo(workflow.content_of(file), name=file.name)) for file in photos]
    book.keep_paper(kind, document, subject=key, by=by)
    for file, picture in pictures:
        book.keep_photo(picture, mount=key, caption=file.stem, by=by)


def full_size_cells(place: str | Path | None, name: str, *, tested_on: str, pried: PriedOff | None) -> dict[str, str]:
    """The columns of the pull that prying a block off with the scale was; ready to be recorded.

    Without a reading the load and the arm are left for the shop to fill in.
    """
    from jointlab.verdict.substrate import kind_mounted

    with workflow.open_book(place) as book:
        key = book.paper(PaperKind.MOUNT, name).key
        setup = setup_of_paper(_paper(book, name))
    joint = setup.joint
    combination, kind = joint.combination, kind_mounted(setup)
    stated = {
        "batch": joint.batch or f"mount {key}",
        "specimen": f"mount {key}",
        "tested_on": tested_on,
        "glue": combination.glue,
        "substrate": combination.substrate,
        "preparation": combination.preparation,
        "substrate_kind": "" if kind is None else str(kind),
        "interlayer": str(joint.interlayer),
        "void_pct": f"{float(joint.void_pct):g}" if float(joint.void_pct) else "",
        "action": "pry",
        **_outline_cells(joint.outline),
        "arm_mm": "ARM" if pried is None else pried.arm_mm,
        "load_kgf" if pried is None else pried.column: "READING" if pried is None else pried.reading,
        "outcome": "broke",
        "notes": "full size, pried off with the scale after use",
    }
    return {column: text for column, text in stated.items() if text}


def check_cells(cells: Mapping[str, str]) -> None:
    """Refuse the columns of a pull that would not be stored, before anything of its mount is.

    Raises
    ------
    InputError
        With a problem for each bad column.
    """
    workflow.pull_of_named_cells(cells)


def _outline_cells(outline: Outline) -> dict[str, str]:
    match outline:
        case Disc(diameter_mm):
            return {"shape": "disc", "diameter_mm": f"{diameter_mm:g}"}
        case Ring(diameter_mm, hole_mm):
            return {"shape": "ring", "diameter_mm": f"{diameter_mm:g}", "hole_mm": f"{hole_mm:g}"}
        case Rectangle(width_mm, depth_mm):
            return {"shape": "rectangle", "width_mm": f"{width_mm:g}", "depth_mm": f"{depth_mm:g}"}


def record_command(cells: Mapping[str, str]) -> str:
    """The command that records such a pull."""
    return " ".join(["jointlab record", *(f"--{column} {shlex.quote(text)}" for column, text in cells.items())])


def offers_pull(ended: Ended) -> bool:
    """Whether the way a block came off was a free full-size test."""
    return ended.removal is Removal.PRIED_WITH_SCALE


def field_records(place: str | Path | None) -> tuple[FieldRecord, ...]:
    """Every mount of the book, the oldest first."""
    with workflow.open_book(place) as book:
        return tuple(record_in(book, paper) for paper in book.papers(PaperKind.MOUNT))


def field_record(place: str | Path | None, name: str) -> tuple[FieldRecord, tuple[StoredPhoto, ...]]:
    """One mount of the book, and its photos.

    Raises
    ------
    UnknownEntryError
        There is none of that name; the nearest names are told.
    """
    with workflow.open_book(place) as book:
        paper = book.paper(PaperKind.MOUNT, name)
        return record_in(book, paper), book.photos(mount=paper.key)


def _paper(book: Book, name: str) -> MountPaper:
    return MountPaper.model_validate(book.paper(PaperKind.MOUNT, name).document)


def plot_happened(records: Iterable[FieldRecord], path: Path) -> Path:
    """Draw predicted against happened to an .svg or .png file.

    Raises
    ------
    InputError
        The file is of another kind, cannot be written, or there is no mount to draw.
    """
    from jointlab.publish.happened_figure import happened_figure

    listed = tuple(record for record in records if record.predicted.margin_lower is not None)
    if not listed:
        raise InputError(Problem("no mount with a margin is in the book: mounts start FILE.toml"), subject="mounts")
    workflow.write_bytes(path, happened_figure(listed, form=image_form(path)))
    return path
