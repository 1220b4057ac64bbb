"""Working bounds of many simulated complete samples at once: the same rule, one call."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from jointlab.strength.working import complete_bounds

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def working_bounds(strength_mpa: FloatArray, batch: IntArray, *, coverage: float, confidence: float) -> FloatArray:
    """Lower working bound [MPa] of each row of complete strengths: the least of the rule's parts.

    Parameters
    ----------
    strength_mpa
        Shape (samples, n), all above 0.
    batch
        Shape (n,): glue-up of each column, numbered from 0, the same in every sample.
    """
    parts = complete_bounds(strength_mpa, batch, coverage=coverage, confidence=confidence)
    return np.asarray(np.minimum(*parts), dtype=np.float64)
