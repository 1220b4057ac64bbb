"""Short answers in plain text, for the commands that must be quick."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from jointlab.app.saying import stress_words
from jointlab.record.finding import Finding

if TYPE_CHECKING:
    from jointlab.app.checking import PublicationCheck
    from jointlab.app.fit_ups import ReadAgain
    from jointlab.app.pull_files import Questions
    from jointlab.app.workflow import ReadPull
    from jointlab.book.stored import BookCheck, ImportReceipt
    from jointlab.mount.fit_up import FitUp


def show_findings(findings: Iterable[Finding], *, indent: str = "") -> None:
    """Findings, a line each."""
    for found in findings:
        print(f"{indent}{found.severity}: {found.text}")


def show_receipt(read: ReadPull) -> None:
    """What was stored, and what should be asked of it."""
    pull, stress = read.stored.pull, read.stress
    revision = f", revision {read.stored.revision}" if read.stored.revision > 1 else ""
    print(f"Stored as pull {read.stored.id}{revision}: batch {pull.batch}, specimen {pull.specimen}.")
    print(f"{pull.joint.combination}, {pull.action}: {stress_words(stress)} (u {stress.u_mpa:.2g} MPa).")
    if pull.excluded_because is not None:
        print(f"Not used: {pull.excluded_because}.")
    show_findings(read.findings)


def show_preview(
    receipt: ImportReceipt, findings: Iterable[Finding], asked: Questions, *, as_json: bool = False
) -> None:
    """How many pulls a file would bring, and the questions they raise."""
    if as_json:
        from jointlab.app.cli.application import show_json
        from jointlab.app.documents import PreviewDocument

        show_json(PreviewDocument(could_come_in=receipt.stored, skipped=receipt.skipped))
        return
    known = f", {receipt.skipped} would be skipped because the book has them" if receipt.skipped else ""
    print(f"{receipt.stored} pulls could come in{known}; nothing was stored.")
    show_findings(findings)
    _show_questions(asked)


def _show_questions(asked: Questions) -> None:
    for row, found in asked.first:
        print(f"row {row}, {found.severity}: {found.text}")
    if asked.more:
        print(f"... and {asked.more} more questions: see jointlab pulls.")


def show_import(receipt: ImportReceipt, findings: Iterable[Finding], asked: Questions, *, made_by: str = "") -> None:
    """How many pulls came in, and the questions they raise."""
    print(f"{receipt.stored} pulls{made_by} stored, {receipt.skipped} skipped because the book has them.")
    show_findings(findings)
    _show_questions(asked)


def show_face(face: ReadAgain) -> None:
    """How true a face is, then how it runs now and what changed, where it was read again."""
    _show_fit(face.first)
    if face.again is None or face.change is None:
        return
    change = face.change
    print(f"\nAfter {change.stage}:")
    _show_fit(face.again)
    print(
        f"The runout changed by {change.grown_mm:+.2f} mm and the lean moved by {change.moved_mm:.2f} mm; more than "
        f"{change.limit_mm:.2g} mm asks for a look."
    )
    show_findings(change.findings)


def _show_fit(fit: FitUp) -> None:
    print(f"{len(fit.readings.height_mm)} readings, total runout {fit.runout_mm:.2f} mm.")
    print(f"Tilt {fit.tilt_mm:.2f} mm across the readings, highest at {math.degrees(fit.high_at_rad):.0f} degrees.")
    print(f"Warp {fit.warp_mm:.2f} mm: the largest gap to a flat face pressed down on it.")
    if fit.wobble_mm is not None:
        print(f"The rim of the blank would run {fit.wobble_mm:.2f} mm to and fro.")
    show_findings(fit.findings)


def show_check(found: BookCheck) -> None:
    """What a look through the book found."""
    print(f"Schema {found.schema}, {found.pulls} pulls, {found.revisions} revisions, last entry {found.head[:16]}.")
    for remark in found.remarks:
        print(f"note: {remark}")
    for damage in found.damages:
        print(f"damage: {damage}")
    print("The book is whole." if found.sound else "The book is damaged: restore a backup; this file was not changed.")


def show_publication_check(found: PublicationCheck) -> None:
    """What a publication says against what its pulls give."""
    for remark in found.remarks:
        print(f"note: {remark}")
    for change in found.changed:
        print(f"changed since: {change}")
    for difference in found.differences:
        print(f"differs: {difference}")
    if not found.sound:
        print("This publication is not what its pulls give: ask the shop for it again.")
    elif found.changed:
        print("Its files are as they were described; today's rules give other numbers than it says.")
    else:
        print("Every number is what the pulls give.")
