"""The log-rank test: strengths of several combinations without a family, with joints that held."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from jointlab.compare.values import GroupTest

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

SOURCE = "mantel_1966"


def log_rank(strength: FloatArray, held: BoolArray, group: IntArray) -> GroupTest:
    """Whether combinations break at the same rate as the load rises.

    Parameters
    ----------
    strength
        Shape (n,): strength at the break, or the highest reached where it held.
    held, group
        Shape (n,): whether it held; number of the combination.

    Returns
    -------
    GroupTest
        Chi-square with groups - 1 degrees of freedom. Source key ``mantel_1966``.
    """
    from scipy import stats

    groups = int(group.max()) + 1
    excess, covariance = np.zeros(groups), np.zeros((groups, groups))
    for load in np.unique(strength[~held]):
        at_risk = np.bincount(group[strength >= load], minlength=groups).astype(np.float64)
        broke = np.bincount(group[(strength == load) & ~held], minlength=groups).astype(np.float64)
        total, breaks = at_risk.sum(), broke.sum()
        share = at_risk / total
        excess += broke - breaks * share
        if total > 1:
            covariance += breaks * (total - breaks) / (total - 1.0) * (np.diag(share) - np.outer(share, share))
    statistic = float(excess @ np.linalg.pinv(covariance) @ excess)
    degrees = groups - 1
    return GroupTest(
        "log-rank",
        "Do combinations break at the same rate as the load rises?",
        statistic,
        (degrees,),
        float(stats.chi2.sf(statistic, degrees)),
        SOURCE,
    )
