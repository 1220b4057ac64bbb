"""The target: before any test, what one coupon on the shop's rig must hold for a mount."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from jointlab.errors import InputError, Problem
from jointlab.mount.setup import MountSetup
from jointlab.record.joint import Outline, Rectangle
from jointlab.record.vocabulary import Action
from jointlab.strength.sample import StrengthSample
from jointlab.strength.working import lower_bound
from jointlab.stress.geometry import pry_stress_mpa, pull_stress_mpa
from jointlab.stress.section import section_of
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS
from jointlab.verdict.required import evidence_before_tests, required_strength

SPREAD = 0.15
"""Coefficient of variation of well-made joints from which the average needed is told (source: judgement)."""

SIMULATED_SHOPS = 201

MOST_COUPONS = 1_000
LEAST_AREA_MM2 = 1.0
"""Beyond these no coupon is made: they are refused (source: judgement)."""

SUCCESS_RUN = "success_run"
"""Source of the coverage that a run of survivors shows: n survivors show p at confidence 1 - p^n."""

BEST_OF_RANGE = (0.2, 0.8)
"""Share of the rig's range in which a reading is worth most (source: judgement)."""

ROUNDING_SLACK = 1e-9
"""Steps of the third figure by which floating point may overshoot a round number (derived from its 15 figures)."""


@dataclass(frozen=True, slots=True)
class Coupon:
    """One specimen on the shop's rig.

    Parameters
    ----------
    outline
        Outline of its bond.
    action
        ``pry`` or ``pull``: what feeds the tension relied on.
    arm_mm
        For a pry: from the glue line to the line of pull.
    n, batches
        Specimens in all, and glue-ups they come from.
    cap_n
        The largest force the rig shows; None when it is not known.
    """

    outline: Outline
    action: Action = Action.PRY
    arm_mm: float | None = None
    n: int = 6
    batches: int = 2
    cap_n: float | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """What a coupon must do for this mount.

    Parameters
    ----------
    required_mpa
        Tension bound, before the factors, at which the mount keeps its margin.
    hold_n
        Force each coupon must hold at the least: if one breaks below it, such tests cannot pass the mount.
    average_n
        Average force at which every other shop would pass, if its coupons spread by 15 %.
    coverage_shown
        Coverage that all of them holding ``hold_n`` shows at the criteria's confidence: the success run.
    run_needed
        Specimens that would all have to hold ``hold_n`` to pass by the success run alone.
    arm_for_cap_mm
        For a pry: the arm at which ``average_n`` comes to the middle of the rig's range; None without a cap.
    sentences
        The same in words.
    """

    required_mpa: float
    hold_n: float
    average_n: float
    coverage_shown: float
    run_needed: int
    arm_for_cap_mm: float | None
    sentences: tuple[str, ...]


def target_of(setup: MountSetup, coupon: Coupon) -> Target:
    """What one coupon on the shop's rig must hold for this mount, before any test is made.

    The mount's demand at its required margin, brought back through the factors to the coupon, is the bound that tests
    must reach. No working bound lies above the weakest coupon, so each must hold that much; to pass
    on a handful they must break well above it on the average.

    Parameters
    ----------
    setup
        The mount; its own kind of block is taken as what will be tested.
    coupon
        The specimen and the rig.

    Raises
    ------
    InputError
        The coupon cannot feed a tension: no pry or pull, no arm, or fewer than two specimens.
    """
    _check(coupon)
    area_mm2 = float(section_of(coupon.outline).area_mm2)
    before = evidence_before_tests(setup, area_mm2=area_mm2, action=coupon.action, n=coupon.n, batches=coupon.batches)
    asked = required_strength(setup, before)
    per_newton = stress_per_newton_mpa(coupon)
    criteria = setup.criteria
    hold_n = asked.tension_mpa / per_newton
    share = expected_share(coupon, coverage=criteria.coverage, confidence=criteria.confidence)
    average_n = hold_n / share if share > 0.0 else math.inf
    target = Target(
        required_mpa=asked.tension_mpa,
        hold_n=hold_n,
        average_n=average_n,
        coverage_shown=float((1.0 - criteria.confidence) ** (1.0 / coupon.n)),
        run_needed=math.ceil(math.log(1.0 - criteria.confidence) / math.log(criteria.coverage) - 1e-9),
        arm_for_cap_mm=_arm_for_cap(coupon, average_n),
        sentences=(),
    )
    told = _sentences(setup, coupon, target, others_meet=asked.others_meet)
    return replace(target, sentences=tuple(told))


def _check(coupon: Coupon) -> None:
    problems = []
    if coupon.action not in (Action.PRY, Action.PULL):
        told = "the tension relied on comes from pry or pull: choose one of them"
        problems.append(Problem(told, column="action", value=coupon.action, allowed="pry, pull"))
    if coupon.action is Action.PRY and not coupon.arm_mm:
        problems.append(Problem("a pry needs the arm from the glue line to the line of pull", column="arm_mm"))
    if coupon.n < LEAST_PULLS or coupon.batches < LEAST_BATCHES:
        allowed = f"at least {LEAST_PULLS} specimens in {LEAST_BATCHES} glue-ups"
        given = f"{coupon.n} in {coupon.batches}"
        problems.append(Problem(f"must be {allowed}: a pass needs them", column="n", value=given, allowed=allowed))
    elif coupon.batches > coupon.n:
        told = "each glue-up must have a specimen"
        problems.append(Problem(told, column="batches", value=str(coupon.batches)[:20], allowed=f"2 to {coupon.n}"))
    if max(coupon.n, coupon.batches) > MOST_COUPONS:
        allowed = f"at most {MOST_COUPONS} specimens and glue-ups"
        problems.append(Problem(f"must be {allowed}", column="n", value=str(coupon.n)[:20], allowed=allowed))
    if not float(section_of(coupon.outline).area_mm2) >= LEAST_AREA_MM2:
        told = f"must give a bond of at least {LEAST_AREA_MM2:g} mm2"
        problems.append(Problem(told, column="diameter_mm", allowed=told.removeprefix("must give ")))
    if problems:
        raise InputError(problems, subject="the coupon")


def stress_per_newton_mpa(coupon: Coupon) -> float:
    """Tension at the coupon's edge for each newton on the rig [MPa/N]."""
    if coupon.action is Action.PRY:
        assert coupon.arm_mm is not None
        return pry_stress_mpa(1.0, outline=coupon.outline, arm_mm=coupon.arm_mm)
    return pull_stress_mpa(1.0, outline=coupon.outline)


def expected_share(coupon: Coupon, *, coverage: float, confidence: float, spread: float = SPREAD) -> float:
    """Working bound over average strength that every other shop of this spread reaches: the median over simulated ones.

    Lognormal joints, glue-ups alike, the same draws for every coverage and confidence.
    """
    rng = np.random.default_rng([coupon.n, coupon.batches])
    log_spread = math.sqrt(math.log(1.0 + spread**2))
    batch = [rank % coupon.batches for rank in range(coupon.n)]
    shares = []
    for strengths in np.exp(log_spread * rng.standard_normal((SIMULATED_SHOPS, coupon.n))):
        sample = StrengthSample.of_values(strengths, batch=batch)
        bound = lower_bound(sample, coverage=coverage, confidence=confidence)
        shares.append((bound.bound_mpa or 0.0) / float(strengths.mean()))
    return float(np.median(shares))


def _arm_for_cap(coupon: Coupon, average_n: float) -> float | None:
    if coupon.cap_n is None or coupon.arm_mm is None or not math.isfinite(average_n):
        return None
    return coupon.arm_mm * average_n / (sum(BEST_OF_RANGE) / 2.0 * coupon.cap_n)


def _sentences(setup: MountSetup, coupon: Coupon, target: Target, *, others_meet: bool) -> Iterator[str]:
    place = f" at {coupon.arm_mm:g} mm" if coupon.arm_mm is not None else ""
    count, glue_ups = f"{coupon.n} of {coupon.n}", f"{coupon.batches} glue-ups"
    yield (
        f"Your {_outline_told(coupon.outline)} must hold {_force_told(target.hold_n)}{place}, in {count}, in "
        f"{glue_ups}. If one breaks below it, these tests cannot pass the mount as it stands."
    )
    yield (
        f"That alone is a run of {coupon.n} survivors: it shows that {100.0 * target.coverage_shown:.0f} % of such "
        f"joints hold so much, at confidence {setup.criteria.confidence:g}. To pass by survivors alone takes "
        f"{target.run_needed}."
    )
    if math.isfinite(target.average_n):
        yield (
            f"To pass on {coupon.n} breaks they should break at {_force_told(target.average_n)} on the average: every "
            f"other shop then passes, if its joints spread by {100.0 * SPREAD:.0f} %."
        )
    if coupon.cap_n is not None and target.average_n > BEST_OF_RANGE[1] * coupon.cap_n:
        arm = f": an arm of {target.arm_for_cap_mm:.0f} mm suits it" if target.arm_for_cap_mm else ""
        cap = f"{coupon.cap_n / STANDARD_GRAVITY_M_S2:.3g} kgf ({coupon.cap_n:.0f} N)"
        yield f"Your rig shows up to {cap}: too little to break them well within its range{arm}."
    if not others_meet:
        yield "The screws miss the margin whatever the glue holds: settle them first."


def _outline_told(outline: Outline) -> str:
    if isinstance(outline, Rectangle):
        return f"{outline.width_mm:g} x {outline.depth_mm:g} mm rectangle"
    return f"{outline.diameter_mm:g} mm {outline.shape}"


def _force_told(force_n: float) -> str:
    """A load that must be reached, in three figures: rounded up, as a reading of less would not do."""
    return f"{rounded_up(force_n / STANDARD_GRAVITY_M_S2)} kgf ({rounded_up(force_n)} N)"


def rounded_up(value: float) -> str:
    """A number in three figures, never down: what must be reached."""
    decimals = 2 - math.floor(math.log10(value)) if value > 0.0 else 0
    step = 10.0**-decimals
    return f"{math.ceil(value / step - ROUNDING_SLACK) * step:.{max(decimals, 0)}f}"
