"""What the shop book knows of a mount, and what a proof of it changes when it is asked about again."""

from __future__ import annotations

from dataclasses import dataclass, replace

from jointlab.app.mount_documents import MountPaper, record_of
from jointlab.book.book import Book
from jointlab.book.stored import PaperKind, StoredPaper
from jointlab.errors import InputError
from jointlab.mount.document import document_of, with_settings
from jointlab.mount.setup import MountSetup
from jointlab.mount.setup_of import setup_of
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.verdict.field_record import FieldRecord


@dataclass(frozen=True, slots=True)
class KnownProof:
    """What the book knows of proofs of the very mount asked about."""

    proofed: float | None = None
    findings: tuple[Finding, ...] = ()


def record_in(book: Book, mount: StoredPaper) -> FieldRecord:
    """The field record of a mount of the book."""
    about = [book.papers(kind, subject=mount.key) for kind in (PaperKind.PROOF, PaperKind.EVENT, PaperKind.ENDING)]
    return replace(record_of(mount, *about), speed_rpm=_speed_of(mount))


def _speed_of(mount: StoredPaper) -> float | None:
    """The speed a mount was decided for; None where its description no longer reads."""
    try:
        return float(setup_of_paper(MountPaper.model_validate(mount.document)).lathe.speed_rpm)
    except InputError:
        return None


def setup_of_paper(paper: MountPaper) -> MountSetup:
    """The mount as it was taken up."""
    return setup_of(with_settings(document_of(paper.description, name=paper.file), paper.settings))


def known_proof(book: Book, setup: MountSetup) -> KnownProof:
    """What a proof of this very mount changes: nothing but its criteria may differ from when it was taken up."""
    same = [paper for paper in book.papers(PaperKind.MOUNT) if _is_same(paper, setup)]
    records = [record for record in (record_in(book, paper) for paper in same) if record.ended is None]
    failed = [record.name for record in records if record.proof_failed]
    if failed:
        text = f"This mount failed its proof (mount {', '.join(failed)}): a joint that moved under a slow pull is done."
        return KnownProof(findings=(Finding(FindingCode.PROOF_FAILED, Severity.BLOCKING, text),))
    return KnownProof(max((record.proofed for record in records if record.proofed is not None), default=None))


def _is_same(stored: StoredPaper, setup: MountSetup) -> bool:
    try:
        kept = setup_of_paper(MountPaper.model_validate(stored.document))
    except InputError:
        return False
    if kept.criteria.catch is not setup.criteria.catch:
        return False
    return repr(replace(kept, criteria=setup.criteria)) == repr(setup)
