"""Papers of the field record as the shop book keeps them, and as ``mounts --json`` prints them."""

from __future__ import annotations

from collections.abc import Iterable

from jointlab.app.documents import Answer, Document
from jointlab.book.stored import StoredPaper
from jointlab.mount.setup import CatchClass
from jointlab.verdict.field_record import (
    End,
    Ended,
    Event,
    FieldRecord,
    Inspection,
    Phase,
    Predicted,
    Proofed,
    Removal,
)
from jointlab.verdict.values import Outcome


class PredictedPart(Document):
    """What was said before turning."""

    verdict: Outcome
    label: str
    margin_lower: float | None
    margin_required: float
    stands_n: float | None
    catch: CatchClass
    break_chance: float | None


class MountPaper(Answer):
    """A mount taken up: its description as it was written, the settings on top, and the verdict used.

    ``decided`` counts how often it was: the same mount looked at again is a new state of the paper.
    """

    decided: int
    file: str
    description: str
    settings: tuple[str, ...]
    combination: str
    predicted: PredictedPart


class ProofPaper(Answer):
    """A proof of the real mount."""

    factor: float
    force_n: float
    height_mm: float
    arm_mm: float
    directions: int
    held: bool


class EventPaper(Answer):
    """What happened while turning; ``catches`` counts by class."""

    phase: Phase | None
    hours: float
    top_rpm: float | None
    catches: dict[CatchClass, int]
    inspection: Inspection | None
    note: str


class EndingPaper(Answer):
    """How it ended."""

    end: End
    removal: Removal
    note: str


class ProofPart(ProofPaper):
    """A proof with its time."""

    at: str


class EventPart(EventPaper):
    """An event with its time."""

    at: str


class EndingPart(EndingPaper):
    """An ending with its time."""

    at: str


class MountRecordPart(Document):
    """Predicted against happened."""

    name: str
    combination: str
    predicted: PredictedPart
    decided_at: str
    void_because: str | None
    proofed: float | None
    hours: float
    top_rpm: float | None
    phases: tuple[Phase, ...]
    catches: dict[CatchClass, int]
    proofs: tuple[ProofPart, ...]
    events: tuple[EventPart, ...]
    ended: EndingPart | None


class MountsDocument(Answer):
    """Every mount of the book, the oldest first."""

    mounts: tuple[MountRecordPart, ...]


def record_of(
    mount: StoredPaper, proofs: Iterable[StoredPaper], events: Iterable[StoredPaper], endings: Iterable[StoredPaper]
) -> FieldRecord:
    """The field record its papers make; the last of several endings counts."""
    paper = MountPaper.model_validate(mount.document)
    told = list(endings)
    return FieldRecord(
        name=mount.key,
        combination=paper.combination,
        predicted=Predicted(**paper.predicted.model_dump()),
        decided_at=mount.recorded_at,
        proofs=tuple(_proof_of(kept) for kept in proofs),
        events=tuple(_event_of(kept) for kept in events),
        ended=_ended_of(told[-1]) if told else None,
        ended_before=tuple(map(_ended_of, told[:-1])),
    )


def _proof_of(kept: StoredPaper) -> Proofed:
    paper = ProofPaper.model_validate(kept.document)
    return Proofed(at=kept.recorded_at, **paper.model_dump(exclude={"schema_"}))


def _event_of(kept: StoredPaper) -> Event:
    paper = EventPaper.model_validate(kept.document)
    return Event(
        at=kept.recorded_at,
        phase=paper.phase,
        hours=paper.hours,
        top_rpm=paper.top_rpm,
        catches=tuple(paper.catches.items()),
        inspection=paper.inspection,
        note=paper.note,
    )


def _ended_of(kept: StoredPaper) -> Ended:
    paper = EndingPaper.model_validate(kept.document)
    return Ended(at=kept.recorded_at, end=paper.end, removal=paper.removal, note=paper.note)


def predicted_part(said: Predicted) -> PredictedPart:
    """What was said, as it is kept."""
    return PredictedPart(
        verdict=said.verdict,
        label=said.label,
        margin_lower=said.margin_lower,
        margin_required=said.margin_required,
        stands_n=said.stands_n,
        catch=said.catch,
        break_chance=said.break_chance,
    )


def event_paper(event: Event) -> EventPaper:
    """An event as it is kept."""
    return EventPaper(
        phase=event.phase,
        hours=event.hours,
        top_rpm=event.top_rpm,
        catches=dict(event.catches),
        inspection=event.inspection,
        note=event.note,
    )


def proof_paper(proof: Proofed) -> ProofPaper:
    """A proof as it is kept."""
    return ProofPaper(
        factor=proof.factor,
        force_n=proof.force_n,
        height_mm=proof.height_mm,
        arm_mm=proof.arm_mm,
        directions=proof.directions,
        held=proof.held,
    )


def ending_paper(ended: Ended) -> EndingPaper:
    """An ending as it is kept."""
    return EndingPaper(end=ended.end, removal=ended.removal, note=ended.note)


def mounts_document(records: Iterable[FieldRecord]) -> MountsDocument:
    """Predicted against happened, mount by mount."""
    return MountsDocument(mounts=tuple(_record_part(record) for record in records))


def _record_part(record: FieldRecord) -> MountRecordPart:
    ended = record.ended
    return MountRecordPart(
        name=record.name,
        combination=record.combination,
        predicted=predicted_part(record.predicted),
        decided_at=record.decided_at,
        void_because=record.void_because,
        proofed=record.proofed,
        hours=record.hours,
        top_rpm=record.top_rpm,
        phases=record.phases,
        catches={catch: record.catches(catch) for catch in CatchClass},
        proofs=tuple(
            ProofPart(at=proof.at, **proof_paper(proof).model_dump(exclude={"schema_", "schema"}))
            for proof in record.proofs
        ),
        events=tuple(
            EventPart(at=event.at, **event_paper(event).model_dump(exclude={"schema_", "schema"}))
            for event in record.events
        ),
        ended=None
        if ended is None
        else EndingPart(at=ended.at, **ending_paper(ended).model_dump(exclude={"schema_", "schema"})),
    )
