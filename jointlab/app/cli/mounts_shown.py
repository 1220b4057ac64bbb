"""The field record on the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from jointlab.app.cli.showing import add, console, shown, table_of
from jointlab.mount.setup import CatchClass
from jointlab.publish.wording import counted
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.interference import power_told
from jointlab.verdict.sentence import margin_told, sentence_of
from jointlab.verdict.values import Outcome

if TYPE_CHECKING:
    from jointlab.app.mounting import Started
    from jointlab.app.workflow import Decision
    from jointlab.book.stored import StoredPhoto
    from jointlab.verdict.field_record import Ended, Event, FieldRecord
    from jointlab.verdict.proof import ProofPlan

NEVER = "Predicted against happened. None of it is entered as a strength."


def show_mounts(records: Iterable[FieldRecord]) -> None:
    """A line for each mount."""
    listed = list(records)
    if not listed:
        print("No mount is in this book: jointlab mounts start FILE.toml")
        return
    numbers = ["margin", "of", "stands N", "hours", "top rpm"]
    columns = ("mount", "said", "margin", "of", "stands N", "hours", "top rpm", "catches", "ended", "block")
    table = table_of(NEVER, *columns, numbers=numbers)
    for record in listed:
        said, ended = record.predicted, record.ended
        add(
            table,
            record.name,
            said.verdict + (" (relaxed)" if "relaxed" in said.label else ""),
            "-" if said.margin_lower is None else margin_told(said.margin_lower),
            f"{said.margin_required:g}",
            shown(said.stands_n),
            f"{record.hours:g}",
            shown(record.top_rpm, 4),
            _catches_told(record),
            "on the lathe" if ended is None else ended.end.replace("_", " "),
            "-" if ended is None else ended.removal.replace("_", " "),
        )
    console().print(table)


def _catches_told(record: FieldRecord) -> str:
    told = [f"{record.catches(catch)} {catch}" for catch in CatchClass if record.catches(catch)]
    return ", ".join(told) or "-"


def show_started(started: Started) -> None:
    """Under what name it is kept, and with which verdict."""
    verdict = started.decision.verdict
    print(f"Mount {started.name} is taken up. {sentence_of(verdict)}")
    if verdict.verdict is not Outcome.PASS:
        print("It is no pass: the record says so. What would settle it: jointlab decide.")
    print(f"Then: jointlab mounts event {started.name} ..., and mounts end {started.name}.")


def show_proof_plan(plan: ProofPlan) -> None:
    """Load, bar and directions, then what to do and to mind."""
    print(
        f"Proof at {plan.factor:g} times the named catch: {plan.force_n:.0f} N "
        f"({plan.force_n / STANDARD_GRAVITY_M_S2:.1f} kgf) on a bar {plan.height_mm:.0f} mm above the glue line, "
        f"{plan.arm_mm:.0f} mm from the axis. It brings {plan.tension_mpa:.3g} MPa to the glue line."
    )
    for number, step in enumerate(plan.steps, start=1):
        print(f"  {number}. {step}")
    for caution in plan.cautions:
        print(f"  - {caution}")
    if plan.harms:
        print(plan.harms)
    if not plan.supports_pass:
        print("At less than the required margin a survivor supports no pass.")


def show_proof(record: FieldRecord, decision: Decision) -> None:
    """What the proof came to, and the verdict the mount has now."""
    proof = record.proofs[-1]
    held = "held" if proof.held else "did not hold"
    times = margin_told(proof.factor)
    print(f"Mount {record.name}: proofed at {times} times the named catch, {held}.")
    if proof.held and not proof.counts:
        print("In fewer than four directions it does not count.")
    print(sentence_of(decision.verdict))
    for reason in decision.verdict.reasons:
        print(f"  - {reason}")


def show_event(record: FieldRecord) -> None:
    """That it is kept, and whether the verdict still stands."""
    print(f"Mount {record.name}: kept. {record.hours:g} hours in all, catches: {_catches_told(record)}.")
    _show_void(record)


def _show_void(record: FieldRecord) -> None:
    if record.void_because is not None and record.ended is None:
        print(
            f"The verdict is void ({record.void_because}). Stop, look at the joint under raking light, tell what you "
            f"saw (--inspected), and decide anew: jointlab mounts start FILE.toml --name {record.name} --reason ..."
        )


def show_ended(record: FieldRecord) -> None:
    """What was said, and what happened."""
    ended, said = record.ended, record.predicted
    assert ended is not None
    print(f"Mount {record.name}: {_ended_told(ended)}.")
    if record.ended_before:
        before = _ended_told(record.ended_before[-1])
        print(f"That puts right what was told before, and which stays in the book: {before}.")
    print(f"It was said: {said.label}.")


def _ended_told(ended: Ended) -> str:
    return f"{ended.end.replace('_', ' ')}, block {ended.removal.replace('_', ' ')}"


def show_mount(record: FieldRecord, photos: Sequence[StoredPhoto]) -> None:
    """Everything the book has of a mount."""
    said = record.predicted
    print(f"Mount {record.name}: {record.combination}, decided on {record.decided_at[:10]}.")
    margin = "-" if said.margin_lower is None else margin_told(said.margin_lower)
    print(f"It was said: {said.label} (margin {margin} of {said.margin_required:g}).")
    if said.break_chance is not None:
        print(f"Chance that the glue line breaks: {power_told(said.break_chance)}, given one {said.catch} catch.")
    for proof in record.proofs:
        held = "held" if proof.held else "did not hold"
        print(f"{proof.at[:16]}  proof at {margin_told(proof.factor)} times, {proof.directions} directions: {held}")
    for event in record.events:
        print(f"{event.at[:16]}  {_event_told(event)}")
    for before in record.ended_before:
        print(f"{before.at[:16]}  {_ended_told(before)} (put right later)")
    if record.ended is not None:
        note = f": {record.ended.note}" if record.ended.note else ""
        print(f"{record.ended.at[:16]}  {_ended_told(record.ended)}{note}")
    if photos:
        print(f"{counted(len(photos), 'photo')}: {', '.join(photo.caption or str(photo.id) for photo in photos)}")
    _show_void(record)


def _event_told(event: Event) -> str:
    parts = [
        "" if event.phase is None else str(event.phase),
        f"{event.hours:g} h" if event.hours else "",
        "" if event.top_rpm is None else f"up to {event.top_rpm:g} rpm",
        *(f"{count} {catch} catch{'es' if count > 1 else ''}" for catch, count in event.catches if count),
        "" if event.inspection is None else f"joint {event.inspection}",
        event.note,
    ]
    return ", ".join(part for part in parts if part)
