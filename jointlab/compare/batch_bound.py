"""Lower tolerance bounds with the spread between glue-ups estimated: a check beside the working bound."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.errors import AnalysisError
from jointlab.strength.noncentral_t import one_sided_factor
from jointlab.strength.normal import quantile

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "vangel_1992"

LEAST_GLUE_UPS = 3
"""Fewer glue-ups than this do not show their own spread (source key ``judgement``)."""


@dataclass(frozen=True, slots=True)
class BatchMoments:
    """Mean, mean squares between and within glue-ups, glue-ups, pulls, and pulls of a usual glue-up."""

    mean: float
    between: float
    within: float
    glue_ups: int
    n: int
    usual: float

    @classmethod
    def of(cls, values: FloatArray, batch: IntArray) -> BatchMoments:
        """Moments of complete values, on whatever scale they are normal.

        Raises
        ------
        AnalysisError
            Fewer than three glue-ups, or one pull in each.
        """
        sizes = np.bincount(batch).astype(np.float64)
        n, glue_ups = values.size, sizes.size
        if glue_ups < LEAST_GLUE_UPS or n == glue_ups:
            raise AnalysisError(
                f"{glue_ups} glue-ups with {n} pulls do not show how much glue-ups differ: "
                f"{LEAST_GLUE_UPS} or more are needed, some with several pulls. Use the working bound."
            )
        moved = values - values[0]
        means = np.bincount(batch, moved) / sizes
        mean = float(moved.mean())
        between = float((sizes * (means - mean) ** 2).sum()) / (glue_ups - 1)
        within = float(((moved - means[batch]) ** 2).sum()) / (n - glue_ups)
        usual = (n - float((sizes**2).sum()) / n) / (glue_ups - 1)
        return cls(mean + float(values[0]), between, within, glue_ups, n, usual)


def anova_bound(moments: BatchMoments, *, coverage: float, confidence: float) -> float:
    """Lower bound of a further glue-up's joints, by the factor between those of n pulls and of as many glue-ups.

    T = (k_n - k_b / sqrt n' + (k_b - k_n) W) / (1 - 1 / sqrt n'), W^2 = u / (u + n' - 1), u the ratio of mean squares,
    no less than 1; the bound is the mean less T times the spread of one joint. Source key ``vangel_1992``.
    """
    usual = moments.usual
    spread = math.sqrt(moments.between / usual + (usual - 1.0) / usual * moments.within)
    ratio = max(1.0, moments.between / moments.within)
    weight = math.sqrt(ratio / (ratio + usual - 1.0))
    of_pulls, of_batches = (
        one_sided_factor(count, coverage=coverage, confidence=confidence) for count in (moments.n, moments.glue_ups)
    )
    root = 1.0 / math.sqrt(usual)
    factor = (of_pulls - of_batches * root + (of_batches - of_pulls) * weight) / (1.0 - root)
    return moments.mean - factor * spread


def generalised_bound(
    moments: BatchMoments, *, coverage: float, confidence: float, rng: np.random.Generator, draws: int = 100_000
) -> float:
    """The same from draws of the mean and both spreads that agree with the pulls. Source key ``vangel_1992``."""
    above, below = moments.glue_ups - 1, moments.n - moments.glue_ups
    between = moments.between * above / rng.chisquare(above, draws)
    within = moments.within * below / rng.chisquare(below, draws)
    mean = moments.mean - rng.standard_normal(draws) * np.sqrt(between / moments.n)
    total = between / moments.usual + (1.0 - 1.0 / moments.usual) * within
    return float(np.quantile(mean - quantile(coverage) * np.sqrt(total), 1.0 - confidence))
