"""Looks at the evidence as the shop book has them: which look a question is, under which plan, on which pulls."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from jointlab.app.foreign import foreign_batches
from jointlab.book.book import Book
from jointlab.book.stored import PaperKind, PullSelection, StoredPaper, StoredPull
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination
from jointlab.record.names import matched

if TYPE_CHECKING:
    from jointlab.verdict.spending import Look
    from jointlab.verdict.values import Verdict

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class Seen:
    """What a look is at.

    Parameters
    ----------
    look
        Which look it is.
    pulls
        The pulls it is at: those of the combination, without other shops' where the shop's own are enough.
    fingerprint
        Of those that count; the same evidence has the same, and any change of it another.
    known
        Whether the book has this look already.
    subject
        What the book files it under.
    plan
        Name of the plan it belongs to.
    foreign
        Glue-ups among them that other shops made.
    findings
        What to know of other shops' pulls, and of copies.
    """

    look: Look
    pulls: tuple[StoredPull, ...]
    fingerprint: str
    known: bool
    subject: str
    plan: str | None
    foreign: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def look_at(book: Book, combination: Combination, pulls: Sequence[StoredPull]) -> Seen:
    """Which look a question about a combination is.

    The newest plan that names the combination governs; it shares the doubt that earlier looks left, and its looks are
    due as its glue-ups are complete. The same evidence again is the same look, whichever mount is asked about. Looks at
    pulls that have been given another combination's name since count on; so does a plan's number of looks as it was at
    its first look. Other shops' pulls belong to it only while the shop's own are too few for a pass.
    """
    from jointlab.verdict.others import sharing_of

    sharing = sharing_of([kept.pull for kept in pulls], foreign_batches=foreign_batches(book, pulls))
    counted = tuple(kept for kept in pulls if kept.pull.batch not in sharing.left_out)
    subject = _subject_of(combination)
    looks = _looks_at(book, subject, pulls)
    fingerprint = _fingerprint_of(counted)
    again = next((kept for kept in reversed(looks) if kept.document["fingerprint"] == fingerprint), None)
    if again is not None:
        look, name = look_of(again), again.document["plan"]
    else:
        plan = next(reversed(_plans_for(book, combination)), None)
        look, name = _new_look(plan, looks), None if plan is None else plan.key
        if plan is not None:
            look = replace(look, waiting=_waiting(plan, combination, pulls, look=look.number))
    return Seen(look, counted, fingerprint, again is not None, subject, name, sharing.foreign, sharing.findings)


def look_of(kept: StoredPaper) -> Look:
    """A look as it was taken down."""
    from jointlab.verdict.spending import Look

    document = kept.document
    return Look(int(document["number"]), document["planned_looks"], left=float(document.get("left", 1.0)))


def _new_look(plan: StoredPaper | None, looks: Sequence[StoredPaper]) -> Look:
    """The next look, under a plan or without one, with what the looks before it left of the doubt."""
    from jointlab.verdict.spending import Look

    name = None if plan is None else plan.key
    before = [kept for kept in looks if kept.document["plan"] == name]
    number = len(before) + 1
    now = _left_of(looks)
    if plan is None:
        # each look without a plan spends half of what is left: told from where such a run would have begun
        return Look(number, None, left=now * 2.0 ** (number - 1))
    if before:
        first = look_of(before[0])
        return Look(number, first.planned_looks, left=first.left)
    return Look(number, int(plan.document["looks"]), left=now)


def _left_of(looks: Sequence[StoredPaper]) -> float:
    return max(0.0, 1.0 - sum(look_of(kept).fraction for kept in looks))


@dataclass(frozen=True, slots=True)
class DoubtLeft:
    """What earlier looks at a combination left: how many there were, and the share of the doubt they did not spend."""

    combination: Combination
    looks: int
    left: float


def doubts_left(book: Book, combinations: Sequence[Combination]) -> tuple[DoubtLeft, ...]:
    """What is left to spend of each combination that has been looked at; none of those that have not."""
    found = []
    for combination in combinations:
        asked = PullSelection(
            glue=combination.glue, substrate=combination.substrate, preparation=combination.preparation
        )
        looks = _looks_at(book, _subject_of(combination), book.pulls(asked))
        if looks:
            found.append(DoubtLeft(combination, len(looks), _left_of(looks)))
    return tuple(found)


def _waiting(plan: StoredPaper, combination: Combination, pulls: Sequence[StoredPull], *, look: int) -> tuple[str, ...]:
    """Specimens of a combination that the plan asks for before a look is due and that are not in the book."""
    keys = [_key_of(each) for each in plan.document["combinations"]]
    there = {(matched(kept.pull.batch), matched(kept.pull.specimen)) for kept in pulls}
    glue_ups = [
        [
            f"{glue_up['batch']} {each['specimen']}"
            for each in glue_up.get("specimens", ())
            if keys[int(each["combination"])] == combination.key
            and (matched(str(glue_up["batch"])), matched(str(each["specimen"]))) not in there
        ]
        for glue_up in plan.document["glue_ups"]
    ]
    complete = sum(not missing for missing in glue_ups)
    if not glue_ups or complete * int(plan.document["looks"]) // len(glue_ups) >= look:
        return ()
    return tuple(name for missing in glue_ups for name in missing)


def keep_look(book: Book, seen: Seen, verdict: Verdict, *, mount: str, by: str | None = None) -> None:
    """Take a look at new evidence down with its verdict; the same evidence again is not taken down twice.

    Raises
    ------
    BookError
        The book cannot be written.
    """
    from jointlab.verdict.sentence import outcome_told

    if seen.known or seen.look.waiting or not _counting(seen.pulls):
        return
    document = {
        "schema": SCHEMA,
        "fingerprint": seen.fingerprint,
        "pulls": [[kept.id, kept.revision] for kept in _counting(seen.pulls)],
        "plan": seen.plan,
        "planned_looks": seen.look.planned_looks,
        "number": seen.look.number,
        "left": seen.look.left,
        "mount": mount,
        "verdict": str(verdict.verdict),
        "label": outcome_told(verdict),
        "relaxed": verdict.relaxed,
        "confidence_spent": verdict.confidence_spent,
        "margin_lower": verdict.margin_lower,
        "margin_upper": verdict.margin_upper,
        "margin_required": verdict.margin_required,
    }
    book.keep_paper(PaperKind.LOOK, document, subject=seen.subject, by=by)


def renamed_findings(book: Book, pulls: Sequence[StoredPull]) -> tuple[Finding, ...]:
    """Pulls that were moved to another glue-up after they were recorded; blocking where two glue-ups came of one."""
    from jointlab.verdict.evidence import LEAST_BATCHES

    counting = _counting(pulls)
    first = {
        kept.id: book.history(kept.id)[0].pull.batch if kept.revision > 1 else kept.pull.batch for kept in counting
    }
    moved = [kept for kept in counting if matched(first[kept.id]) != matched(kept.pull.batch)]
    if not moved:
        return ()
    was, now = ({matched(name) for name in names} for names in (first.values(), (kept.pull.batch for kept in counting)))
    made = len(was) < LEAST_BATCHES <= len(now)
    told = "; ".join(dict.fromkeys(f"{first[kept.id]} is now {kept.pull.batch}" for kept in moved))
    text = f"Of {len(moved)} pulls the glue-up was renamed after they were recorded ({told})."
    if made:
        text += " As first recorded they were one glue-up: only pulls recorded as another can show what differs."
    return (Finding(FindingCode.GLUE_UPS_RENAMED, Severity.BLOCKING if made else Severity.WARNING, text),)


def _subject_of(combination: Combination) -> str:
    return " | ".join(combination.key)


def _looks_at(book: Book, subject: str, pulls: Sequence[StoredPull]) -> list[StoredPaper]:
    """Looks at a combination, and those at any of its pulls while they went by another name."""
    ids = {kept.id for kept in pulls}
    about = {kept.key for kept in book.papers(PaperKind.LOOK, subject=subject)}
    every = book.papers(PaperKind.LOOK)
    return [kept for kept in every if kept.key in about or any(pull in ids for pull, _ in kept.document["pulls"])]


def _counting(pulls: Sequence[StoredPull]) -> tuple[StoredPull, ...]:
    return tuple(kept for kept in pulls if kept.pull.excluded_because is None)


def _fingerprint_of(pulls: Sequence[StoredPull]) -> str:
    marks = sorted((kept.id, kept.revision) for kept in _counting(pulls))
    return hashlib.sha256(repr(marks).encode("ascii")).hexdigest()


def _plans_for(book: Book, combination: Combination) -> list[StoredPaper]:
    """Plans that have the combination among theirs, the oldest first."""
    return [plan for plan in book.papers(PaperKind.PLAN) if combination.key in _planned_keys(plan)]


def _planned_keys(plan: StoredPaper) -> set[tuple[str, str, str]]:
    return {_key_of(each) for each in plan.document["combinations"]}


def _key_of(planned: Mapping[str, object]) -> tuple[str, str, str]:
    return Combination(*(str(planned[name]) for name in ("glue", "substrate", "preparation"))).key
