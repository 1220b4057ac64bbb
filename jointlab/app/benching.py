"""At the bench: which specimen is next, what it starts from, what stress it stood, and storing it once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock

from jointlab.app import workflow
from jointlab.app.workflow import ReadPull
from jointlab.book.book import Book
from jointlab.book.stored import ImportReceipt, PullRevision, PullSelection, StoredPhoto, StoredPull
from jointlab.errors import InputError
from jointlab.record.columns import accepted_columns
from jointlab.record.csv_file import written_csv
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.names import matched
from jointlab.record.photo import Photo
from jointlab.record.pull import Pull
from jointlab.record.row import row_cells

SOURCE = "judgement"

KEPT_FROM_LAST = (
    "batch", "glue", "substrate", "preparation", "blank_wood", "glue_family", "substrate_kind", "interlayer", "action",
    "grain_to_load", "shape", "diameter_mm", "hole_mm", "width_mm", "depth_mm", "arm_mm", "offset_mm", "glued_on",
    "clamp_h", "rig", "uncertainty_pct", "cap_n", "cap_nm", "load_step_n", "load_step_nm",
)  # fmt: skip
"""Columns that seldom change from one pull to the next of a glue-up."""

BREAKS: dict[str, dict[str, str]] = {
    "wood": {"wood_pct": "90", "adhesive_pct": "10"},
    "mixed": {"wood_pct": "50", "adhesive_pct": "50"},
    "glue": {"wood_pct": "10", "adhesive_pct": "90", "broke_at": "glue_line"},
    "plies": {"delamination_pct": "100", "broke_at": "substrate"},
    "paper": {"paper_pct": "100", "broke_at": "paper"},
}
"""What one tap says of a break: the middle of its class, as near as an eye judges it (``SOURCE``)."""


ANY_QUESTION = frozenset(str(code) for code in FindingCode)
"""For doors that tell questions with the receipt instead of asking first."""


@dataclass(frozen=True, slots=True)
class Upcoming:
    """A specimen still to be pulled, and where it stands in the plan."""

    batch: str
    specimen: str
    words: str
    cells: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Bench:
    """What lies on the bench: cells to start from, the specimens the plans still wait for, and the last pull."""

    cells: dict[str, str]
    upcoming: tuple[Upcoming, ...]
    last: ReadPull | None


@dataclass(frozen=True, slots=True)
class KnownNames:
    """Names the book knows, to choose from."""

    glues: tuple[str, ...] = ()
    substrates: tuple[str, ...] = ()
    rigs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """What came of an entry: the pull, and whether this very entry had been stored before."""

    read: ReadPull
    known: bool


class Questioned(Exception):  # noqa: N818 - it asks, and may be answered
    """The reading looks wrong; nothing was stored until it is confirmed."""

    def __init__(self, read: ReadPull, questions: tuple[Finding, ...]) -> None:
        self.read = read
        self.questions = questions
        super().__init__(" ".join(found.text for found in questions))


def bench_now(place: str | Path | None) -> Bench:
    """What to pull next and what to start from."""
    with workflow.open_book(place) as book:
        last = book.last_pull()
        upcoming = tuple(_upcoming(book))
    cells = {} if last is None else cells_after(last.pull)
    if upcoming:
        cells |= {"batch": upcoming[0].batch, "specimen": upcoming[0].specimen, **dict(upcoming[0].cells)}
    return Bench(
        cells=cells,
        upcoming=upcoming,
        last=None if last is None else workflow.read_pull(last),
    )


def known_names(place: str | Path | None) -> KnownNames:
    """Glues, substrates and rigs of the book, each once."""
    with workflow.open_book(place) as book:
        combinations = book.combinations()
        rigs = tuple(stored.rig.name for stored in book.rigs())
    return KnownNames(
        glues=tuple(dict.fromkeys(stored.combination.glue for stored in combinations)),
        substrates=tuple(dict.fromkeys(stored.combination.substrate for stored in combinations)),
        rigs=rigs,
    )


def cells_after(pull: Pull) -> dict[str, str]:
    """What the next pull starts from: this one's lasting cells in the units they were written in, the next number."""
    now, entered = row_cells(pull), dict(pull.entered)
    written = {accepted_columns()[title].stored: (title, text) for title, text in entered.items()}
    cells: dict[str, str] = {}
    for column in KEPT_FROM_LAST:
        if now[column] is None:
            continue
        title, text = written.get(column, (column, _plain(now[column])))
        cells[title] = text
    cells["specimen"] = next_name(pull.specimen)
    cells["outcome"] = str(pull.outcome)
    load = "torque_nm" if pull.is_twist else "load_n"
    reading = next((title for title in entered if title.startswith("reading_")), None)
    cells["load_unit"] = reading or (written[load][0] if load in written else load)
    return cells


def _plain(value: object) -> str:
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def next_name(name: str) -> str:
    """The name of a specimen after this one: its last number counted on, zeros in front kept."""
    found = re.search(r"(\d+)(\D*)$", name)
    if found is None:
        return f"{name}-2" if name else "1"
    number = found[1]
    return f"{name[: found.start()]}{int(number) + 1:0{len(number)}d}{found[2]}"


def _upcoming(book: Book) -> Iterator[Upcoming]:
    """Specimens of the newest plan that still has some, in the order drawn by lot."""
    from jointlab.app.planning import followed
    from jointlab.book.stored import PaperKind

    for paper in reversed(book.papers(PaperKind.PLAN)):
        kept = followed(book, paper)
        left = {(one.batch, one.specimen) for one in kept.progress.left}
        if not left:
            continue
        for number, glue_up in enumerate(kept.plan.glue_ups, start=1):
            for one in glue_up.in_test_order():
                if (one.batch, one.specimen) not in left:
                    continue
                words = f"plan {kept.plan.name}, glue-up {number} of {len(kept.plan.glue_ups)}"
                cells = {
                    "glue": one.combination.glue,
                    "substrate": one.combination.substrate,
                    "preparation": one.combination.preparation,
                    "glued_on": glue_up.glued_on,
                    "action": str(kept.plan.method.action),
                    **_outline_cells(kept.plan.method.outline),
                }
                if kept.plan.method.arm_mm is not None:
                    cells["arm_mm"] = _plain(float(kept.plan.method.arm_mm))
                yield Upcoming(one.batch, one.specimen, words, tuple(cells.items()))
        return


def _outline_cells(outline: object) -> dict[str, str]:
    sizes = ("diameter_mm", "hole_mm", "width_mm", "depth_mm")
    given = {name: getattr(outline, name, None) for name in sizes}
    shape = {"shape": str(getattr(outline, "shape", ""))}
    return shape | {name: _plain(float(value)) for name, value in given.items() if value is not None}


def looked_at(place: str | Path | None, cells: Mapping[str, str]) -> ReadPull:
    """The pull these cells describe, with its stress and the questions it raises; nothing is stored.

    Raises
    ------
    InputError
        With a problem for each bad cell.
    """
    pull = workflow.pull_of_named_cells(cells, rigs=workflow.rigs_kept(place))
    return workflow.read_pull(StoredPull(0, 1, pull))


def stored_once(
    place: str | Path | None,
    cells: Mapping[str, str],
    *,
    confirmed: frozenset[str] = frozenset(),
    photo: Photo | None = None,
    by: str | None = None,
) -> Entry:
    """Store a pull and its photo; the same entry sent again is answered with what it stored the first time.

    What makes an entry one and the same is the book's own rule, that batch and specimen are unique, and that the pull
    as first recorded is equal to this one. So it holds across restarts, and needs nothing kept beside the pull.

    Raises
    ------
    InputError
        A cell is bad, or another pull has that batch and specimen.
    Questioned
        It raises questions that are not among the ``confirmed`` codes.
    """
    with workflow.open_book(place) as book:
        pull = workflow.pull_of_named_cells(cells, rigs=workflow.rigs_kept(place))
        before = _same_entry(book, pull)
        if before is None:
            read = workflow.read_pull(StoredPull(0, 1, pull))
            asked = tuple(found for found in read.findings if found.severity is Severity.QUESTION)
            if any(str(found.code) not in confirmed for found in asked):
                raise Questioned(read, asked)
            try:
                stored, known = book.record(pull, by=by), False
            except InputError:
                # stored by the same entry on another way meanwhile, or truly another pull of that name
                again = _same_entry(book, pull)
                if again is None:
                    raise
                stored, known = again, True
        else:
            stored, known = before, True
        if photo is not None:
            keep_photo_once(book, photo, pull_id=stored.id, by=by)
    return Entry(workflow.read_pull(stored), known)


def _same_entry(book: Book, pull: Pull) -> StoredPull | None:
    for stored in book.pulls(PullSelection(batch=pull.batch)):
        if matched(stored.pull.specimen) == matched(pull.specimen):
            return stored if book.history(stored.id)[0].pull == pull else None
    return None


def keep_photo_once(book: Book, photo: Photo, *, pull_id: int, by: str | None = None) -> StoredPhoto:
    """Keep a photo of a pull, unless it is kept already to the last byte."""
    import hashlib

    digest = hashlib.sha256(photo.jpeg).hexdigest()
    with _KEEPING:
        for kept in book.photos(pull_id=pull_id):
            if kept.sha256 == digest:
                return kept
        return book.keep_photo(photo, pull_id=pull_id, by=by)


_KEEPING = Lock()
"""One photo after the other: an entry that comes twice at once would otherwise find its photo missing twice."""


def corrected(
    place: str | Path | None,
    pull_id: int,
    cells: Mapping[str, str],
    *,
    reason: str,
    seen_revision: int | None = None,
    by: str | None = None,
) -> ReadPull:
    """Store a correction of the cells that differ from what stands there, made from the revision that was seen.

    Raises
    ------
    InputError
        A cell is bad, no reason is given, or nothing changes.
    BookError
        Another correction came in between.
    """
    from jointlab.record.amend import amended_pull

    with workflow.open_book(place) as book:
        before = book.pull(pull_id)
        now = cells_to_correct(before.pull)
        changed = {column: text for column, text in cells.items() if text.strip() != now.get(column, "")}
        pull = amended_pull(before.pull, changed, rigs=workflow.rigs_kept(place)) if changed else before.pull
        seen = before.revision if seen_revision is None else seen_revision
        return workflow.read_pull(book.correct(pull_id, pull, reason=reason, by=by, seen_revision=seen))


def cells_to_correct(pull: Pull) -> dict[str, str]:
    """Every column of a pull in SI as text, blank where nothing stands: what a form for correcting starts from.

    Numbers to ten figures: a cell left as it was shown is not changed, whatever its last digits.
    """
    return {
        column: "" if value is None else _plain(value)
        for column, value in row_cells(pull).items()
        if column != "excluded_because"
    }


@dataclass(frozen=True, slots=True)
class PullFolder:
    """Everything kept of one pull."""

    read: ReadPull
    history: tuple[PullRevision, ...]
    photos: tuple[StoredPhoto, ...]


def folder_of(place: str | Path | None, pull_id: int) -> PullFolder:
    """One pull with its history and photos.

    Raises
    ------
    UnknownEntryError
        There is no such pull.
    """
    with workflow.open_book(place) as book:
        return PullFolder(workflow.read_pull(book.pull(pull_id)), book.history(pull_id), book.photos(pull_id=pull_id))


def photo_added(place: str | Path | None, pull_id: int, photo: Photo, *, by: str | None = None) -> StoredPhoto:
    """Keep a photo of a pull.

    Raises
    ------
    UnknownEntryError
        There is no such pull.
    """
    with workflow.open_book(place) as book:
        return keep_photo_once(book, photo, pull_id=pull_id, by=by)


def photo_jpeg(place: str | Path | None, photo_id: int) -> bytes:
    """A photo as it was kept.

    Raises
    ------
    UnknownEntryError
        There is no such photo.
    """
    with workflow.open_book(place) as book:
        return book.photo_bytes(photo_id)


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would bring: pulls with their questions, by row, and findings about the file."""

    rows: tuple[ReadPull, ...]
    findings: tuple[Finding, ...]


def previewed(place: str | Path | None, content: bytes, *, name: str, shop: str = "") -> Preview:
    """The pulls of a file, or all its problems at once, as an import would store them; nothing is stored.

    Parameters
    ----------
    shop
        Another shop that made them; "" for the book's own, whose readings its rigs turn into loads.

    Raises
    ------
    InputError
        With one problem for each bad cell.
    """
    if not shop:
        file = workflow.file_of(content, name=name, rigs=workflow.rigs_kept(place))
        return Preview(workflow.asked_of(file), file.findings)
    from jointlab.app.other_shops import made_by

    file = workflow.file_of(content, name=name)
    marked = replace(file, pulls=tuple(made_by(pull, shop) for pull in file.pulls))
    return Preview(workflow.asked_of(marked), file.findings)


def imported(
    place: str | Path | None, content: bytes, *, name: str, shop: str = "", by: str | None = None
) -> ImportReceipt:
    """Store all pulls of a file that was handed in, or none; as another shop's where one is named.

    Raises
    ------
    InputError
        With one problem for each bad cell, or for each row that differs from the book.
    """
    if shop:
        from jointlab.app.other_shops import stored_of_shop

        return stored_of_shop(place, workflow.file_of(content, name=name), shop, by=by).receipt
    file = workflow.file_of(content, name=name, rigs=workflow.rigs_kept(place))
    with workflow.open_book(place) as book:
        return book.import_pulls(file.pulls, rows=file.rows, by=by)


def exported(place: str | Path | None, selection: PullSelection) -> str:
    """The pulls of a selection as CSV text in SI."""
    with workflow.open_book(place) as book:
        return written_csv(stored.pull for stored in book.pulls(selection))


def exported_workbook(place: str | Path | None, selection: PullSelection) -> bytes:
    """The pulls of a selection as a workbook in SI."""
    from jointlab.record.xlsx_file import written_xlsx

    with workflow.open_book(place) as book:
        return written_xlsx(stored.pull for stored in book.pulls(selection))


def template_text() -> str:
    """A table to start from, as CSV text; its rows are examples."""
    from jointlab.record.csv_file import written_table
    from jointlab.record.template import ROWS, TITLES

    return written_table((TITLES, *ROWS))


def template_workbook() -> bytes:
    """A table to start from, as a workbook; its rows are examples."""
    from jointlab.record.template import ROWS, TITLES
    from jointlab.record.xlsx_file import sheet_of_rows

    return sheet_of_rows(TITLES, ROWS)
