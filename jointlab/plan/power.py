"""How likely a test shows what is wished, by the number of specimens: exact where a formula is, else by simulation."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from jointlab.compare.blocks import block_fit
from jointlab.compare.estimates import BATCH_RATIO, Pair
from jointlab.compare.layout import Layout
from jointlab.compare.pairs import every_pair
from jointlab.compare.simultaneous import factor_of
from jointlab.plan.values import PowerPoint, SeeDifference, ShowStrength
from jointlab.record.joint import Combination
from jointlab.strength.noncentral_t import noncentral_t_cdf
from jointlab.strength.quadrature import rising_root
from jointlab.strength.working import complete_bounds

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "noncentral_t_power"

REPLICATES = 10_000
"""Simulated tests; the chance is then known to within a point (computed)."""


def power_of_two_means(*, difference_sd: float, n: int, confidence: float = 0.95) -> float:
    """Chance that a two-sided t test of two means, n each, shows a difference of so many standard deviations.

    Exact, from the noncentral t distribution with 2 n - 2 degrees of freedom. Source key ``noncentral_t_power``.
    """
    from scipy import stats

    degrees = 2 * n - 2
    limit = float(stats.t.ppf(0.5 + 0.5 * confidence, degrees))
    offset = difference_sd * math.sqrt(0.5 * n)
    above = 1.0 - noncentral_t_cdf(limit, degrees=degrees, offset=offset)
    return above + noncentral_t_cdf(-limit, degrees=degrees, offset=offset)


def detectable_difference_sd(*, n: int, chance: float = 0.8, confidence: float = 0.95) -> float:
    """Difference of two means, in standard deviations, that n specimens each show with this chance.

    Examples
    --------
    >>> round(0.20 * detectable_difference_sd(n=5), 2)
    0.4
    """
    return rising_root(
        lambda d: power_of_two_means(difference_sd=d, n=n, confidence=confidence) - chance, 0.0, 6.0 / math.sqrt(n)
    )


def chance_to_see(
    wish: SeeDifference,
    *,
    combinations: int,
    glue_ups: int,
    each: int,
    confidence: float,
    against_control: bool,
    rng: np.random.Generator,
) -> float:
    """Chance that the comparison in blocks shows the wished ratio of one pair, the others alike.

    Parameters
    ----------
    glue_ups, each
        Glue-ups, and specimens of every combination in each.
    confidence
        Of all intervals at once, at this look.
    against_control
        Compare with the first combination only, rather than every pair.
    """
    away, factor, errors = _differences(combinations, glue_ups, each, confidence, rng, against_control=against_control)
    shift = math.log(wish.ratio) / wish.log_sd
    return float(((away + shift) / errors > factor).mean())


def ratio_seen(
    wish: SeeDifference,
    *,
    combinations: int,
    glue_ups: int,
    each: int,
    confidence: float,
    against_control: bool,
    rng: np.random.Generator,
) -> float:
    """The ratio of medians that so many specimens show with the wished chance, whatever ratio is wished for."""
    away, factor, errors = _differences(combinations, glue_ups, each, confidence, rng, against_control=against_control)
    shift = float(np.quantile(factor * errors - away, wish.chance, method="higher"))
    return math.exp(shift * wish.log_sd)


def _differences(
    combinations: int, glue_ups: int, each: int, confidence: float, rng: np.random.Generator, *, against_control: bool
) -> tuple[FloatArray, float, FloatArray]:
    """How far differences stray in tests of like combinations, the family's factor, the errors, of standard joints."""
    layout = block_layout(combinations, glue_ups, each)
    family: Sequence[Pair] = (
        [(index, 0) for index in range(1, combinations)] if against_control else every_pair(combinations)
    )
    fit = block_fit(layout, family, ratio=BATCH_RATIO)
    off, errors, _ = fit.estimated(rng.standard_normal((REPLICATES, layout.n)))
    differences = np.stack([off[:, i] - off[:, j] for i, j in family], axis=1)
    return differences, factor_of(np.abs(differences / errors).max(axis=1), confidence=confidence), errors


def chance_to_show(
    wish: ShowStrength, *, glue_ups: int, each: int, confidence: float, rng: np.random.Generator
) -> float:
    """Chance that the working bound of one combination reaches the wished strength, every joint broken.

    Strengths are supposed lognormal, glue-ups to differ as much as joints within one.
    """
    bounds = _bounds_mpa(wish, glue_ups, each, confidence, rng)
    return float((bounds >= wish.required_mpa).mean())


def strength_shown_mpa(
    wish: ShowStrength, *, glue_ups: int, each: int, confidence: float, rng: np.random.Generator
) -> float:
    """The strength that so many specimens show with the wished chance [MPa], whatever strength is wished for."""
    bounds = _bounds_mpa(wish, glue_ups, each, confidence, rng)
    return float(np.quantile(bounds, 1.0 - wish.chance, method="lower"))


def _bounds_mpa(
    wish: ShowStrength, glue_ups: int, each: int, confidence: float, rng: np.random.Generator
) -> FloatArray:
    """Working bounds of simulated tests."""
    batch = np.repeat(np.arange(glue_ups), each)
    joints = rng.standard_normal((REPLICATES, batch.size))
    moved = rng.standard_normal((REPLICATES, glue_ups)) * BATCH_RATIO
    strength = wish.expected_mpa * np.exp(wish.log_sd * (joints + moved[:, batch]))
    return np.minimum(*complete_bounds(strength, batch, coverage=wish.coverage, confidence=confidence))


def block_layout(combinations: int, glue_ups: int, each: int) -> Layout:
    """A layout of complete blocks: every combination ``each`` times in every glue-up."""
    group = np.tile(np.repeat(np.arange(combinations), each), glue_ups).astype(np.int64)
    block = np.repeat(np.arange(glue_ups), combinations * each).astype(np.int64)
    zeros = np.zeros(group.size)
    return Layout(
        combinations=tuple(Combination("", str(index)) for index in range(combinations)),
        group=group,
        block=block,
        blocks=glue_ups,
        lower=zeros,
        upper=zeros,
        limit=np.full(group.size, np.inf),
        step_mpa=zeros,
    )


def power_curve(chances: Sequence[tuple[int, float]]) -> tuple[PowerPoint, ...]:
    """Points of a curve that never falls: but for the chance of simulation, more specimens never succeed less."""
    points, best = [], 0.0
    for specimens, chance in sorted(chances):
        best = max(best, chance)
        points.append(PowerPoint(specimens, best))
    return tuple(points)
