"""Bounds that assume nothing: an order statistic, and the success run."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from jointlab.strength.sample import StrengthSample

FloatArray = npt.NDArray[np.float64]

SOURCE = "meeker_hahn_escobar"


def rank_of_bound(n: int, *, coverage: float, confidence: float) -> int | None:
    """Largest r such that the r-th smallest of n is a lower bound; None when even the smallest is not.

    The r-th smallest lies below the (1 - coverage) percentile when at least r of n do: a binomial chance.

    Examples
    --------
    >>> rank_of_bound(59, coverage=0.95, confidence=0.95), rank_of_bound(58, coverage=0.95, confidence=0.95)
    (1, None)
    """
    share = 1.0 - coverage
    fewer = 0.0
    for rank in range(1, n + 1):
        below = rank - 1
        ways = math.lgamma(n + 1) - math.lgamma(below + 1) - math.lgamma(n - below + 1)
        fewer += math.exp(ways + below * math.log(share) + (n - below) * math.log1p(-share))
        if 1.0 - fewer < confidence - 1e-12:
            return rank - 1 or None
    return n or None


def lower_ends(sample: StrengthSample) -> FloatArray:
    """What each joint held at least [MPa]; one that broke when handled counts as the least load its rig shows.

    A pull whose rig says nothing of its step counts as zero.
    """
    ends = np.array(sample.lower_mpa)
    low = ends == 0.0
    ends[low] = np.minimum(sample.load_step_mpa[low], sample.upper_mpa[low])
    return ends


def order_statistic_bound(sample: StrengthSample, *, coverage: float, confidence: float) -> float | None:
    """Lower bound [MPa] from the r-th smallest lower end; None with too few pulls. Censoring only lowers it."""
    rank = rank_of_bound(sample.n, coverage=coverage, confidence=confidence)
    return None if rank is None else float(np.sort(sample.lower_mpa)[rank - 1])


def success_run_bound(sample: StrengthSample, *, coverage: float, confidence: float) -> float | None:
    """Lower bound [MPa] when every joint held: the lowest load held, if 1 - coverage^n >= confidence; else None.

    Source key ``meeker_hahn_escobar``, section 5.3.
    """
    if not sample.n or not sample.held.all() or 1.0 - coverage**sample.n < confidence - 1e-12:
        return None
    return float(sample.lower_mpa.min())
