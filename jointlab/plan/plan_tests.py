"""From a wish to a plan: specimens, glue-ups, orders drawn by lot, dates."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from jointlab.errors import InputError, Problem
from jointlab.plan.power import chance_to_see, chance_to_show, power_curve, ratio_seen, strength_shown_mpa
from jointlab.plan.rig_fit import rig_fit, rig_fit_findings
from jointlab.plan.values import (
    GlueUp,
    Method,
    PlannedSpecimen,
    PowerPoint,
    SeeDifference,
    ShowStrength,
    TestPlan,
    Wish,
)
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination, Disc, Ring
from jointlab.record.rig import Rig
from jointlab.record.vocabulary import Action
from jointlab.units import Quantity

SOURCE = "judgement"

DEFAULT_METHOD = Method(Action.PRY, Disc(50.0), arm_mm=300.0)
"""A 50 mm disc pried at 300 mm: a luggage scale breaks it (source key ``judgement``)."""

DEFAULT_GLUE_UPS = 2
DEFAULT_EACH = 6
"""Two glue-ups of six: what a shop does without much ado (source key ``judgement``)."""

LEAST_EACH = 2
MOST_EACH = 12
"""Specimens of a combination in one glue-up: what can be clamped at once (source key ``judgement``)."""

_HOURS_A_DAY = 24.0
_FIRST_SEED = 20_260_101


@dataclass(frozen=True, slots=True)
class Terms:
    """How the shop will go about it.

    Parameters
    ----------
    name
        Names of glue-ups start with it; unlike any already in the shop book.
    glued_from
        ISO date of the first glue-up.
    days_between
        Days from one glue-up to the next.
    cure_h
        From gluing to testing [h].
    glue_ups
        Blocks: each holds all combinations.
    planned_looks
        How often the evidence is looked at; None: once, after the last glue-up.
    each
        Specimens of every combination in one glue-up; None: as many as the wish needs.
    """

    name: str
    glued_from: str
    days_between: int = 1
    cure_h: float = 168.0
    glue_ups: int = DEFAULT_GLUE_UPS
    planned_looks: int | None = None
    each: int | None = None


def plan_tests(
    combinations: Sequence[Combination],
    *,
    wish: Wish,
    terms: Terms,
    method: Method = DEFAULT_METHOD,
    rig: Rig | None = None,
    control: Combination | None = None,
    rng: np.random.Generator,
) -> TestPlan:
    """Specimens and glue-ups that show what is wished with the chance asked for, orders drawn by lot.

    Parameters
    ----------
    combinations
        To be tested; all stand in every glue-up, so that what sets glue-ups apart cancels in comparisons.
    wish
        A strength to show, or a difference to see, with what is supposed of strength and spread.
    terms
        Dates, glue-ups, looks.
    method
        Action, outline and arm of the specimens.
    rig
        The rig; None: the loads are told, not judged.
    control
        Compared with all others; None: every pair.
    rng
        Draws the orders of gluing and testing; the chances are drawn from a fixed seed.

    Returns
    -------
    TestPlan
        Each planned look carries an equal share of the doubt. Where the most specimens do not reach the chance asked
        for, the plan holds them, says its chance, and a finding says so.

    Raises
    ------
    InputError
        With every problem at once.
    """
    _checked(combinations, wish, terms, control, method, rig)
    looks = terms.planned_looks or 1
    asked = 1.0 - (1.0 - wish.confidence) / looks
    points = _chances(len(combinations), wish, terms, asked, against_control=control is not None)
    curve = power_curve(points)
    chosen = next((point for point in curve if point.chance >= wish.chance), curve[-1])
    if terms.each is not None:
        chosen = next(point for point in curve if point.specimens == terms.each * terms.glue_ups)
    fit = rig_fit(method, wish, rig=rig)
    ordered = _control_first(combinations, control)
    return TestPlan(
        name=terms.name,
        wish=wish,
        combinations=ordered,
        control=control,
        method=method,
        rig=None if rig is None else rig.name,
        rig_fit=fit,
        cure_h=terms.cure_h,
        specimens_each=chosen.specimens,
        glue_ups=tuple(_glue_ups(ordered, terms, chosen.specimens // terms.glue_ups, rng)),
        planned_looks=looks,
        confidence_at_look=asked,
        chance=chosen.chance,
        curve=curve,
        findings=(*rig_fit_findings(fit, rig=rig), *_plan_findings(chosen, wish, terms)),
    )


def within_reach(
    combinations: int, wish: Wish, terms: Terms, *, each: int = DEFAULT_EACH, against_control: bool = False
) -> Wish:
    """The same wish for as much as so many specimens in every glue-up can show with its chance.

    Parameters
    ----------
    combinations
        How many are tested.
    wish
        Its suppositions and chance count; the strength or ratio wished for does not.
    each
        Specimens of every combination in one glue-up.

    Returns
    -------
    Wish
        A strength rounded down, a ratio rounded up to three digits.
    """
    asked = 1.0 - (1.0 - wish.confidence) / (terms.planned_looks or 1)
    rng = np.random.default_rng([_FIRST_SEED, each, terms.glue_ups])
    match wish:
        case SeeDifference():
            seen = ratio_seen(
                wish,
                combinations=combinations,
                glue_ups=terms.glue_ups,
                each=each,
                confidence=asked,
                against_control=against_control,
                rng=rng,
            )
            return replace(wish, ratio=math.ceil(100.0 * seen) / 100.0)
        case ShowStrength():
            shown = strength_shown_mpa(wish, glue_ups=terms.glue_ups, each=each, confidence=asked, rng=rng)
            scale = 10.0 ** (2 - math.floor(math.log10(shown))) if shown > 0.0 else 1.0
            return replace(wish, required_mpa=math.floor(shown * scale) / scale)


def _chances(
    combinations: int, wish: Wish, terms: Terms, confidence: float, *, against_control: bool
) -> list[tuple[int, float]]:
    found = []
    for each in range(LEAST_EACH, MOST_EACH + 1):
        rng = np.random.default_rng([_FIRST_SEED, each, terms.glue_ups])
        match wish:
            case SeeDifference():
                chance = chance_to_see(
                    wish,
                    combinations=combinations,
                    glue_ups=terms.glue_ups,
                    each=each,
                    confidence=confidence,
                    against_control=against_control,
                    rng=rng,
                )
            case ShowStrength():
                chance = chance_to_show(wish, glue_ups=terms.glue_ups, each=each, confidence=confidence, rng=rng)
        found.append((each * terms.glue_ups, chance))
    return found


def _glue_ups(
    combinations: Sequence[Combination], terms: Terms, each: int, rng: np.random.Generator
) -> Iterator[GlueUp]:
    first = date.fromisoformat(terms.glued_from)
    for number in range(terms.glue_ups):
        glued = first + timedelta(days=number * terms.days_between)
        tested = glued + timedelta(days=math.ceil(terms.cure_h / _HOURS_A_DAY))
        batch = f"{terms.name}-{number + 1}"
        drawn = [combination for combination in combinations for _ in range(each)]
        glued_as, tested_as = rng.permutation(len(drawn)), rng.permutation(len(drawn))
        specimens = [
            PlannedSpecimen(batch, str(int(place) + 1), combination, int(place) + 1, int(turn) + 1)
            for combination, place, turn in zip(drawn, glued_as, tested_as, strict=True)
        ]
        yield GlueUp(
            batch, glued.isoformat(), tested.isoformat(), tuple(sorted(specimens, key=lambda one: one.glued_as))
        )


def _control_first(combinations: Sequence[Combination], control: Combination | None) -> tuple[Combination, ...]:
    if control is None:
        return tuple(combinations)
    return (control, *(combination for combination in combinations if combination.key != control.key))


def _plan_findings(chosen: PowerPoint, wish: Wish, terms: Terms) -> Iterator[Finding]:
    if chosen.chance < wish.chance:
        text = (
            f"{chosen.specimens} specimens of each combination succeed with a chance of {chosen.chance:.0%}, not "
            f"{wish.chance:.0%}: wish for less, expect a smaller spread for a reason, or plan more glue-ups."
        )
        yield Finding(FindingCode.PLAN_SHORT, Severity.WARNING, text)
    if terms.glue_ups < DEFAULT_GLUE_UPS:
        text = "One glue-up cannot show by how much the next differs: it never carries a pass."
        yield Finding(FindingCode.ONE_BATCH, Severity.WARNING, text)


def _checked(
    combinations: Sequence[Combination],
    wish: Wish,
    terms: Terms,
    control: Combination | None,
    method: Method,
    rig: Rig | None,
) -> None:
    problems = [*_problems(combinations, wish, terms, control), *_method_problems(method, rig)]
    if problems:
        raise InputError(problems, subject="the plan")


def _problems(
    combinations: Sequence[Combination], wish: Wish, terms: Terms, control: Combination | None
) -> Iterator[Problem]:
    keys = [combination.key for combination in combinations]
    if len(set(keys)) < len(keys):
        yield Problem("each combination once", column="combinations")
    if control is not None and control.key not in keys:
        yield Problem("must be one of the combinations", column="control", value=str(control))
    if isinstance(wish, SeeDifference):
        if len(keys) < 2:
            yield Problem("a difference needs two combinations or more", column="combinations", value=str(len(keys)))
        if not wish.ratio > 1.0:
            yield Problem("must be greater than 1", column="ratio", value=f"{wish.ratio:g}", allowed="such as 1.25")
    elif not keys:
        yield Problem("needs one combination or more", column="combinations")
    if isinstance(wish, ShowStrength) and not wish.required_mpa > 0.0:
        yield Problem("must be greater than 0", column="required_mpa", value=f"{wish.required_mpa:g}")
    for name, value in (("expected_mpa", wish.expected_mpa), ("log_sd", wish.log_sd), ("cure_h", terms.cure_h)):
        if not (math.isfinite(value) and value > 0.0):
            yield Problem("must be greater than 0", column=name, value=f"{value:g}", allowed="greater than 0")
    if terms.glue_ups < 1:
        yield Problem("must be 1 or more", column="glue_ups", value=str(terms.glue_ups), allowed="1 or more")
    if terms.planned_looks is not None and not 1 <= terms.planned_looks <= max(terms.glue_ups, 1):
        allowed = f"1 to {terms.glue_ups}, for a look follows a whole glue-up"
        yield Problem(f"must be {allowed}", column="looks", value=str(terms.planned_looks), allowed=allowed)
    if terms.each is not None and not LEAST_EACH <= terms.each <= MOST_EACH:
        allowed = f"{LEAST_EACH} to {MOST_EACH}"
        yield Problem(f"must be {allowed}", column="each", value=str(terms.each), allowed=allowed)
    try:
        date.fromisoformat(terms.glued_from)
    except ValueError:
        yield Problem("must be an ISO date", column="glued_from", value=terms.glued_from, allowed="such as 2026-03-14")


def _method_problems(method: Method, rig: Rig | None) -> Iterator[Problem]:
    outline = method.outline
    for name in ("diameter_mm", "hole_mm", "width_mm", "depth_mm"):
        size = getattr(outline, name, None)
        if size is not None and not (math.isfinite(size) and size > 0.0):
            yield Problem("must be greater than 0", column=name, value=f"{size:g}", allowed="greater than 0")
    if isinstance(outline, Ring) and not outline.hole_mm < outline.diameter_mm:
        yield Problem("must be smaller than the diameter", column="hole_mm", value=f"{outline.hole_mm:g}")
    if method.action is Action.PRY and not (method.arm_mm is not None and method.arm_mm > 0.0):
        yield Problem("a pry needs its arm", column="arm_mm", allowed="such as 300")
    if rig is not None and (rig.kind.loads is Quantity.TORQUE) is not (method.action is Action.TWIST):
        what = "a torque: it tests by twist" if rig.kind.loads is Quantity.TORQUE else "a force: it does not test twist"
        yield Problem(f"{rig.name} gives {what}", column="rig", value=rig.name)
