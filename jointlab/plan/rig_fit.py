"""The rig before the test: whether it will show the loads to be expected, and which specimen would suit it."""

from __future__ import annotations

import math

from jointlab.errors import InputError, Problem
from jointlab.plan.values import Method, RigFit, Wish
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Disc, Outline, Rectangle, Ring
from jointlab.record.rig import GOOD_RANGE, Rig, load_at
from jointlab.record.vocabulary import Action
from jointlab.strength.normal import quantile
from jointlab.stress.geometry import pry_stress_mpa, pull_stress_mpa, shear_stress_mpa, twist_stress_mpa

SOURCE = "trade"

LOW_SHARE = 0.05
"""Share of joints weaker than the least load planned for, and stronger than the largest (source key ``judgement``)."""

SIZES_MM = (20.0, 25.0, 30.0, 38.0, 40.0, 50.0, 60.0, 75.0, 100.0)
"""Sizes a shop can saw or turn (source key ``trade``)."""


def stress_per_load(method: Method) -> float:
    """Stress for a load of one newton, or one newton metre for a twist [MPa].

    Raises
    ------
    InputError
        A pry without its arm.
    """
    match method.action:
        case Action.PULL:
            return pull_stress_mpa(1.0, outline=method.outline)
        case Action.PRY:
            if method.arm_mm is None:
                raise InputError(Problem("a pry needs its arm", column="arm_mm", allowed="such as 300"))
            return pry_stress_mpa(1.0, outline=method.outline, arm_mm=method.arm_mm)
        case Action.SHEAR:
            return shear_stress_mpa(1.0, outline=method.outline)
        case Action.TWIST:
            return twist_stress_mpa(1.0, outline=method.outline)


def rig_fit(method: Method, wish: Wish, *, rig: Rig | None) -> RigFit:
    """Loads to be expected, from the weakest joint in twenty to the strongest, beside the rig's range.

    A peak is best read between 20 and 80 % of the range: below, the instrument's own error counts; above, joints hold
    that should have broken (source key ``trade``).
    """
    weakest, strongest = _extremes(wish)
    low, expected, high = (stress / stress_per_load(method) for stress in (weakest, wish.expected_mpa, strongest))
    if rig is None or rig.capacity is None:
        return RigFit(low, expected, high, None, None, None, None, None, None)
    share_low, share_expected, share_high = (_share(rig, load) for load in (low, expected, high))
    suits = _suits([share_low, share_high])
    better = None if suits else _better(method, wish, rig)
    capacity = load_at(rig, rig.capacity)
    return RigFit(low, expected, high, capacity, share_low, share_expected, share_high, suits, better)


def rig_fit_findings(fit: RigFit, *, rig: Rig | None) -> tuple[Finding, ...]:
    """What to know before the first pull."""
    if rig is None or fit.suits is None or fit.suits:
        return ()
    low, high = fit.share_low or 0.0, fit.share_high or 0.0
    advice = f" A size of {fit.better_mm:g} mm would suit it." if fit.better_mm is not None else " Use another rig."
    text = (
        f"The loads to be expected run from {low:.0%} to {high:.0%} of the range of {rig.name}; best is 20 to 80 %."
        f"{advice}"
    )
    return (Finding(FindingCode.RIG_RANGE, Severity.WARNING, text),)


def _extremes(wish: Wish) -> tuple[float, float]:
    away = -quantile(LOW_SHARE) * wish.log_sd
    return wish.expected_mpa * math.exp(-away), wish.expected_mpa * math.exp(away)


def _share(rig: Rig, load: float) -> float:
    assert rig.capacity is not None  # asked for only where it is known
    return (load - rig.tare) / rig.ratio / (rig.capacity - rig.zero)


def _suits(shares: list[float]) -> bool:
    return GOOD_RANGE[0] <= min(shares) and max(shares) <= GOOD_RANGE[1]


def _better(method: Method, wish: Wish, rig: Rig) -> float | None:
    """The size nearest to the one planned whose loads lie within the good range; None where none does."""
    first = _first_measure(method.outline)
    fitting = []
    for size in SIZES_MM:
        per_load = stress_per_load(Method(method.action, _of_size(method.outline, size / first), method.arm_mm))
        if _suits([_share(rig, stress / per_load) for stress in _extremes(wish)]):
            fitting.append(size)
    return min(fitting, key=lambda size: abs(size - first), default=None)


def _first_measure(outline: Outline) -> float:
    return outline.width_mm if isinstance(outline, Rectangle) else outline.diameter_mm


def _of_size(outline: Outline, factor: float) -> Outline:
    match outline:
        case Disc(diameter_mm):
            return Disc(diameter_mm * factor)
        case Ring(diameter_mm, hole_mm):
            return Ring(diameter_mm * factor, hole_mm * factor)
        case Rectangle(width_mm, depth_mm):
            return Rectangle(width_mm * factor, depth_mm * factor)
