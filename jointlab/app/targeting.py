"""Use case: before any test, what one coupon must hold for a mount, on a rig of the book or one that is described."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow
from jointlab.errors import InputError, Problem
from jointlab.record.finding import Finding
from jointlab.record.rig import Rig, load_at, rig_findings
from jointlab.record.vocabulary import Action
from jointlab.units import STANDARD_GRAVITY_M_S2, Quantity

if TYPE_CHECKING:
    from jointlab.mount.setup import MountSetup
    from jointlab.verdict.target import Coupon, Target


@dataclass(frozen=True, slots=True)
class OnRig:
    """What a coupon must hold, and what to know before trusting the rig; ``rig`` is None where one was described."""

    target: Target
    rig: Rig | None = None
    findings: tuple[Finding, ...] = ()


def target_for(path: Path, settings: Iterable[str], coupon: Coupon) -> OnRig:
    """What one coupon must hold for the mount a file describes."""
    from jointlab.verdict.target import target_of

    return OnRig(target_of(workflow.mount_setup(path, settings), coupon))


def target_on_rig(
    place: str | Path | None, path: Path, settings: Iterable[str], coupon: Coupon, *, rig: str, today: str
) -> OnRig:
    """The same on a rig of the book; see ``setup_on_rig``."""
    return setup_on_rig(place, workflow.mount_setup(path, settings), coupon, rig=rig, today=today)


def setup_on_rig(place: str | Path | None, setup: MountSetup, coupon: Coupon, *, rig: str, today: str) -> OnRig:
    """What one coupon must hold on a rig of the book: its arm and limit hold.

    What it must show is told where that is not the load.

    Raises
    ------
    InputError
        The rig twists, which feeds no tension.
    UnknownEntryError
        The book has no rig of that name; the nearest names are told.
    """
    from jointlab.verdict.target import target_of

    with workflow.open_book(place) as book:
        known = book.rig(rig).rig
    if known.kind.loads is not Quantity.FORCE:
        told = f"{known.name} twists: the tension relied on comes from a pry or a pull"
        raise InputError(Problem(told, column="--rig", value=rig), subject="the coupon")
    target = target_of(setup, fitted_to(coupon, known))
    sentences = (*target.sentences, *_shown_told(known, target.hold_n))
    findings = rig_findings(known, peak=target.hold_n, today=today)
    return OnRig(replace(target, sentences=sentences), known, findings)


def fitted_to(coupon: Coupon, rig: Rig) -> Coupon:
    """The coupon with the arm and the limit that this rig has."""
    arm_mm = rig.arm_mm if coupon.action is Action.PRY and rig.arm_mm is not None else coupon.arm_mm
    cap_n = load_at(rig, rig.capacity) if rig.capacity is not None else coupon.cap_n
    return replace(coupon, arm_mm=arm_mm, cap_n=cap_n)


def reading_at(rig: Rig, load: float) -> float:
    """What a rig shows when this load is on the joint: the inverse of ``load_at``."""
    return (load - rig.tare) / rig.ratio + rig.zero


def _shown_told(rig: Rig, hold_n: float) -> Iterable[str]:
    """What the instrument must show, where ratio, tare or zero make it another number than the load."""
    from jointlab.verdict.target import rounded_up

    if (rig.ratio, rig.tare, rig.zero) == (1.0, 0.0, 0.0):
        return
    shown = reading_at(rig, hold_n)
    if shown <= 0.0:
        yield f"The weight that {rig.name} hangs on the joint is more than that already: take a larger coupon."
    elif rig.kind.reads is Quantity.FORCE:
        yield f"{rig.name} must then show at least {rounded_up(shown / STANDARD_GRAVITY_M_S2)} kgf."
    else:
        yield f"{rig.name} must then show at least {rounded_up(shown)} MPa."
