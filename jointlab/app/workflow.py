"""The use cases: open the book, read values, call the rooms, write what they give.

The only file that knows both the book and the analysis. No formula and no SQL stands here. Rooms that need heavy
libraries are imported where they are called, so that a command that only records stays quick.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache, partial
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from jointlab.app.at_hand import TheVery, combinations_at_hand, pulls_at_hand
from jointlab.app.doubting import Doubts
from jointlab.app.named_files import content_of as content_of
from jointlab.app.named_files import text_of as text_of
from jointlab.app.named_files import write_bytes as write_bytes
from jointlab.app.named_files import write_text as write_text
from jointlab.app.places import default_book
from jointlab.app.pull_files import (
    Questions,
    Watching,
    refuse_other_spreadsheet,
    streamed_file,
    unwatched,
    write_pulls,
)
from jointlab.app.pull_files import ReadPull as ReadPull
from jointlab.app.pull_files import asked_of as asked_of
from jointlab.app.pull_files import export_template as export_template
from jointlab.app.pull_files import file_of as file_of
from jointlab.app.pull_files import read_file as read_file
from jointlab.app.pull_files import read_pull as read_pull
from jointlab.book.book import Book
from jointlab.book.stored import EVERY_PULL, BookCheck, ImportReceipt, PullRevision, PullSelection, StoredPull
from jointlab.errors import BookError
from jointlab.record.csv_file import Decimal, pull_of_cells
from jointlab.record.finding import Finding
from jointlab.record.joint import Combination
from jointlab.record.reading import KnownRigs, by_name, no_rigs, rig_questions, with_limits
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.joint_stress_of import joint_stress_of

if TYPE_CHECKING:
    from jointlab.app.looking import Seen
    from jointlab.mount.demand import MountDemand
    from jointlab.mount.setup import MountSetup
    from jointlab.record.pull import Pull
    from jointlab.record.rig import Rig
    from jointlab.record.vocabulary import Action
    from jointlab.strength.values import CombinationStrength
    from jointlab.verdict.evidence import Evidence
    from jointlab.verdict.spending import Look
    from jointlab.verdict.values import Verdict

Progress = Callable[[Sequence["Task"], str], Iterable["Task"]]
Task = tuple[Combination, "Action", tuple[JointStress, ...]]

USUAL_COVERAGE = 0.95
USUAL_CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Decision:
    """A mount that was asked about, and the answer; and with what look, proof and glue-ups, to ask it again."""

    name: str
    setup: MountSetup
    demand: MountDemand
    evidence: Evidence | None
    verdict: Verdict
    look: Look | None = None
    proofed: float | None = None
    glue_ups: tuple[str, ...] = ()


def open_book(place: str | Path | None) -> Book:
    """The shop book at a path or URL; the user's own when None."""
    if place not in _SHARED:
        return Book.open(default_book() if place is None else place)
    with _SHARING:
        if place not in _OPENED:
            _OPENED[place] = Book.open(default_book() if place is None else place)
        return _OPENED[place]


_SHARED: set[str | Path | None] = set()
_OPENED: dict[str | Path | None, Book] = {}
_SHARING = Lock()


def share_book(place: str | Path | None) -> None:
    """Let all that this process asks of that book ask one and the same, opened once: what a server does.

    Its statements are then prepared once; each use still lets its connections go at the end.
    """
    _SHARED.add(place)


def record_pull(place: str | Path | None, cells: Mapping[str, str], *, by: str | None = None) -> ReadPull:
    """Store one pull written as column -> text.

    Raises
    ------
    InputError
        With a problem for each bad column; nothing was stored.
    """
    rigs = rigs_kept(place)
    pull = pull_of_named_cells(cells, rigs=rigs)
    with open_book(place) as book:
        read = read_pull(book.record(pull, by=by))
    return replace(read, findings=(*read.findings, *rig_questions(pull, rigs)))


def rigs_kept(place: str | Path | None) -> KnownRigs:
    """Gives the rigs of the shop book by their names; the book is opened only when they are asked for."""

    @lru_cache(maxsize=1)
    def known() -> Mapping[str, Rig]:
        with open_book(place) as book:
            return by_name(tuple(stored.rig for stored in book.rigs()))

    return known


def pull_of_named_cells(cells: Mapping[str, str], *, rigs: KnownRigs = no_rigs) -> Pull:
    """The pull written as column -> text, in any unit of the contract."""
    from jointlab.record.csv_file import file_columns

    columns = file_columns(list(cells), name="the pull", row=None)
    return with_limits(pull_of_cells(list(cells.values()), columns, row=None, rigs=rigs), rigs)


def import_file(
    place: str | Path | None,
    path: Path,
    *,
    by: str | None = None,
    decimal: Decimal = Decimal.POINT,
    watching: Watching = unwatched,
) -> tuple[ImportReceipt, tuple[Finding, ...], Questions]:
    """Store all pulls of a file, or none; they are stored as they are read, in one transaction.

    Returns
    -------
    tuple
        The receipt, findings about the file, and what is asked of its pulls.
    """
    asked = Questions()
    with (
        streamed_file(path, decimal=decimal, rigs=rigs_kept(place)) as file,
        open_book(place) as book,
    ):
        read = watching(asked.asked(file.pulls.numbered), f"storing {path.name}", file.share_read)
        return book.import_numbered(read, by=by), file.pulls.findings, asked


def export_file(place: str | Path | None, path: Path, selection: PullSelection = EVERY_PULL) -> int:
    """Write the pulls of a selection in SI, as CSV or as a workbook by the file's name; gives their number.

    Raises
    ------
    InputError
        The name is that of another kind of spreadsheet, or the file cannot be written.
    """
    refuse_other_spreadsheet(path)
    with open_book(place) as book, book.table(selection) as (columns, pulls):
        return write_pulls(path, (stored.pull for stored in pulls), columns=columns)


def each_pull(place: str | Path | None, selection: PullSelection = EVERY_PULL) -> Iterator[ReadPull]:
    """``list_pulls`` one after another, however many there are."""
    with open_book(place) as book:
        yield from map(read_pull, book.each_pull(selection))


def list_pulls(place: str | Path | None, selection: PullSelection = EVERY_PULL) -> tuple[ReadPull, ...]:
    """The pulls of a selection as they stand now."""
    with open_book(place) as book:
        return tuple(read_pull(stored) for stored in book.pulls(selection))


def correct_pull(
    place: str | Path | None, pull_id: int, cells: Mapping[str, str], *, reason: str, by: str | None = None
) -> ReadPull:
    """Store a correction: the columns given replace what stood there; an empty text clears a column."""
    from jointlab.record.amend import amended_pull

    with open_book(place) as book:
        before = book.pull(pull_id)
        pull = amended_pull(before.pull, cells, rigs=rigs_kept(place))
        return read_pull(book.correct(pull_id, pull, reason=reason, by=by, seen_revision=before.revision))


def exclude_pull(place: str | Path | None, pull_id: int, *, cause: str, by: str | None = None) -> ReadPull:
    """Keep and show a pull, but use it no more."""
    with open_book(place) as book:
        return read_pull(book.exclude(pull_id, cause=cause, by=by))


def pull_history(place: str | Path | None, pull_id: int) -> tuple[PullRevision, ...]:
    """Every revision of a pull, oldest first."""
    with open_book(place) as book:
        return book.history(pull_id)


def check_book(place: str | Path | None) -> BookCheck:
    """Look through the whole book for damage."""
    with open_book(place) as book:
        return book.check()


def restore_book_from(backup: Path, place: str | Path | None) -> BookCheck:
    """Make a new book from a backup, looked through before it is named; nothing that stands there is overwritten."""
    from jointlab.book.restore import restore_book

    return restore_book(backup, default_book() if place is None else place)


def backup_book(place: str | Path | None, path: Path) -> Path:
    """Write the whole book to a new file."""
    with open_book(place) as book:
        return book.backup(path)


def _unmarked(tasks: Sequence[Task], words: str) -> Iterable[Task]:  # noqa: ARG001 - a caller's progress bar takes both
    return tasks


class Detail(StrEnum):
    """How much is worked out of each combination."""

    WORKING = "working"
    DESCRIBED = "described"
    EVERYTHING = "everything"
    PREVIEW = "preview"


def strengths_in(
    place: str | Path | None,
    selection: PullSelection = EVERY_PULL,
    *,
    coverage: float = USUAL_COVERAGE,
    confidence: float = USUAL_CONFIDENCE,
    detail: Detail = Detail.EVERYTHING,
    progress: Progress = _unmarked,
) -> tuple[CombinationStrength, ...]:
    """What the pulls of each combination and action of a selection say, by name; doubtful readings are told."""
    doubts = Doubts()
    with open_book(place) as book:
        tasks = tuple(grouped(doubts.watched(stored.pull for stored in book.each_pull(selection))))
    return tuple(
        doubts.told(_strength(combination, action, stresses, coverage, confidence, detail))
        for combination, action, stresses in progress(tasks, "combinations")
    )


def strengths_of(
    pulls: Iterable[Pull],
    *,
    coverage: float,
    confidence: float,
    detail: Detail = Detail.EVERYTHING,
    progress: Progress = _unmarked,
    stress_of: Callable[[Pull], JointStress] = joint_stress_of,
) -> tuple[CombinationStrength, ...]:
    """What the pulls of each combination and action say; excluded pulls are passed over.

    ``stress_of`` gives stresses that are known already, where they are.
    """
    return tuple(
        _strength(combination, action, stresses, coverage, confidence, detail)
        for combination, action, stresses in progress(tuple(grouped(pulls, stress_of)), "combinations")
    )


@lru_cache(maxsize=4096)
def _strength(
    combination: Combination,
    action: Action,
    stresses: tuple[JointStress, ...],
    coverage: float,
    confidence: float,
    detail: Detail,
) -> CombinationStrength:
    """Kept once computed: a table and a verdict on the same pulls ask for the same."""
    from jointlab.strength.likelihood_ratio import PREVIEW_REPLICATES, REPLICATES
    from jointlab.strength.strength_of import combination_strength, described_strength, working_strength

    by_detail = {Detail.WORKING: working_strength, Detail.DESCRIBED: described_strength}
    return by_detail.get(detail, combination_strength)(
        stresses,
        combination=combination,
        action=action,
        coverage=coverage,
        confidence=confidence,
        replicates=PREVIEW_REPLICATES if detail is Detail.PREVIEW else REPLICATES,
    )


def grouped(pulls: Iterable[Pull], stress_of: Callable[[Pull], JointStress] = joint_stress_of) -> Iterator[Task]:
    """Combination, action and stresses of each group of pulls that are not excluded, sorted by their names."""
    names: dict[tuple[tuple[str, str, str], str], tuple[Combination, Action]] = {}
    stresses: dict[tuple[tuple[str, str, str], str], list[JointStress]] = {}
    for pull in pulls:
        if pull.excluded_because is None:
            key = (pull.joint.combination.key, pull.action)
            names.setdefault(key, (pull.joint.combination, pull.action))
            stresses.setdefault(key, []).append(stress_of(pull))
    for group in sorted(stresses):
        yield *names[group], tuple(stresses[group])


def mount_setup(path: Path, settings: Iterable[str] = ()) -> MountSetup:
    """The mount a TOML file describes, with ``section.key=value`` settings on top."""
    from jointlab.mount.document import document_of, with_settings
    from jointlab.mount.setup_of import setup_of

    return setup_of(with_settings(document_of(text_of(path), name=path.name), settings))


def decide_mount(
    place: str | Path | None, path: Path, settings: Iterable[str] = (), *, by: str | None = None
) -> Decision:
    """The verdict on the mount a file describes; see ``decide_setup``."""
    return decide_setup(place, mount_setup(path, settings), name=path.stem, by=by)


def decide_setup(place: str | Path | None, setup: MountSetup, *, name: str, by: str | None = None) -> Decision:
    """The verdict on a mount, from the pulls of its combination in the book; a look at new evidence is taken down.

    A proof of this very mount, kept in the book, counts. A book that cannot be written still answers, but never with a
    pass.
    """
    from jointlab.app.looking import keep_look

    with open_book(place) as book:
        seen, decided = question_of(book, setup, name=name)
        decision = decided(look=seen.look)
        try:
            keep_look(book, seen, decision.verdict, mount=name, by=by)
        except BookError:
            decision = decided(look=replace(seen.look, kept=False))
        return with_other_combinations(book, decision)


def with_other_combinations(book: Book, decision: Decision) -> Decision:
    """A decision that is no pass, with the other combinations of the book that would make it one."""
    from jointlab.app.other_combinations import other_combinations

    if decision.verdict.verdict == "pass":
        return decision
    others = other_combinations(book, decision.setup, _verdict_at, _evidence_at)
    ways = (*decision.verdict.would_settle, *others)
    return replace(decision, verdict=replace(decision.verdict, would_settle=ways))


def _evidence_at(setup: MountSetup, pulls: Sequence[StoredPull]) -> Evidence | None:
    return evidence_on(setup, [stored.pull for stored in pulls], setup.criteria.confidence)


def _verdict_at(setup: MountSetup, seen: Seen) -> Verdict:
    pulls = tuple(stored.pull for stored in seen.pulls)
    return decision_on(setup, pulls, name="", look=seen.look, foreign=seen.foreign).verdict


def question_of(book: Book, setup: MountSetup, *, name: str) -> tuple[Seen, Callable[..., Decision]]:
    """Which look at the evidence a mount asks for, and what answers it for a ``look``; nothing is taken down."""
    from jointlab.app.foreign import made_here
    from jointlab.app.known_proofs import known_proof
    from jointlab.app.looking import look_at, renamed_findings

    asked = setup.joint.combination
    seen = look_at(book, asked, stored_of(book, asked))
    known = tuple(stored.combination for stored in combinations_at_hand(book)) if not seen.pulls else ()
    proof = known_proof(book, setup)
    return seen, partial(
        decision_on,
        setup,
        tuple(stored.pull for stored in seen.pulls),
        name=name,
        nearest=_nearest(asked, known),
        blank_joint_pulls=tuple(made_here(book, stored_of(book, joint.combination)) for joint in setup.blank_joints),
        noticed=(*renamed_findings(book, seen.pulls), *seen.findings, *proof.findings),
        foreign=seen.foreign,
        proofed=proof.proofed,
    )


def stored_of(book: Book, asked: Combination) -> tuple[StoredPull, ...]:
    """Pulls of a combination as the book has them now."""
    selection = PullSelection(glue=asked.glue, substrate=asked.substrate, preparation=asked.preparation)
    return pulls_at_hand(book, selection)


def pulls_of(book: Book, asked: Combination) -> tuple[Pull, ...]:
    """Pulls of a combination as they stand now."""
    return tuple(stored.pull for stored in stored_of(book, asked))


def decision_among(
    setup: MountSetup,
    pulls: Iterable[Pull],
    *,
    name: str,
    look: Look | None = None,
    glue_ups: Collection[str] | None = None,
    proofed: float | None = None,
) -> Decision:
    """The verdict on a mount from those of these pulls that are of its combination, and of its blank's joints'.

    Parameters
    ----------
    look
        Which look it is; None: no book keeps account of looks here, and it is judged as the first, without a plan.
    glue_ups
        Only pulls of these glue-ups count for the mount's own joint; None: all do.
    proofed
        Times which catch this very mount was proofed.
    """
    from jointlab.verdict.spending import Look

    listed = tuple(pulls)
    asked = setup.joint.combination
    own, *inside = (
        tuple(pull for pull in listed if pull.joint.combination.key == combination.key)
        for combination in (asked, *(joint.combination for joint in setup.blank_joints))
    )
    known = () if own else tuple(pull.joint.combination for pull in listed)
    return decision_on(
        setup,
        tuple(pull for pull in own if glue_ups is None or pull.batch in glue_ups),
        name=name,
        nearest=_nearest(asked, known),
        blank_joint_pulls=inside,
        look=Look(1) if look is None else look,
        proofed=proofed,
    )


def _nearest(asked: Combination, known: Iterable[Combination]) -> tuple[str, ...]:
    import difflib

    names = list(dict.fromkeys(str(combination) for combination in known))
    return tuple(difflib.get_close_matches(str(asked), names, n=3, cutoff=0.0))


def decision_on(
    setup: MountSetup,
    pulls: Sequence[Pull],
    *,
    name: str,
    nearest: Sequence[str] = (),
    blank_joint_pulls: Sequence[Sequence[Pull]] = (),
    look: Look | None = None,
    noticed: Sequence[Finding] = (),
    proofed: float | None = None,
    foreign: Collection[str] = (),
) -> Decision:
    """The verdict on a mount from these pulls of its combination, and those of each joint inside its blank.

    ``noticed`` is what the shop book knows of these pulls, ``proofed`` times which catch this very mount was proofed,
    ``foreign`` names the glue-ups that other shops made.
    """
    from jointlab.mount.mount_demand import mount_demand
    from jointlab.verdict.decide import decide

    confidence = setup.criteria.confidence if look is None else 1.0 - look.spent(setup.criteria.confidence)
    evidence = evidence_on(setup, pulls, confidence, foreign)
    if evidence is not None:
        inside = tuple(evidence_on(setup, of_joint, confidence) for of_joint in blank_joint_pulls)
        evidence = replace(evidence, blank_joints=inside, findings=(*evidence.findings, *noticed))
    verdict = decide(setup, evidence, look=look, nearest=nearest, proofed=proofed)
    glue_ups = tuple(sorted({pull.batch for pull in pulls}))
    return Decision(name, setup, mount_demand(setup), evidence, verdict, look, proofed, glue_ups)


def evidence_on(
    setup: MountSetup, pulls: Sequence[Pull], confidence: float, foreign: Collection[str] = ()
) -> Evidence | None:
    """What these pulls of one combination say for a mount at a confidence; None when nothing.

    Excluded pulls go along: they feed no strength, but that there are some is told.
    """
    return _evidence(TheVery(pulls), setup.criteria.coverage, confidence, tuple(foreign))


@lru_cache(maxsize=64)
def _evidence(very: TheVery, coverage: float, confidence: float, foreign: tuple[str, ...]) -> Evidence | None:
    """Kept once computed: of the same pulls another speed or size of the mount asks for the same."""
    from jointlab.verdict.evidence import across_the_grain, evidence_of

    pulls = very.values
    said = partial(strengths_of, coverage=coverage, confidence=confidence, detail=Detail.WORKING)
    strengths = {strength.action: strength for strength in said(pulls)}
    across = said(across_the_grain(pulls))
    return evidence_of(pulls, strengths, shear_across=across[0] if across else None, foreign_batches=foreign)
