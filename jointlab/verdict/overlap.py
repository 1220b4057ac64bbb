"""Where strength and load overlap: the chance that a joint is weaker than the catch it meets."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

SOURCE = "stress_strength"

FloatArray = npt.NDArray[np.float64]

CLASS_PERCENTILE = 0.95
"""Share of the catches of a class that stay below its force (source: judgement)."""

NODES = 161
WIDEST = 8.0
"""Trapezoids over the standard normal from -8 to 8: for smooth integrands exact to rounding."""


def chance_of_interference(
    strength_cdf: Callable[[FloatArray], FloatArray], load_of_normal: Callable[[FloatArray], FloatArray]
) -> float:
    """Chance that the strength lies below the load, the two being independent: the integral of F(load) over the load.

    Parameters
    ----------
    strength_cdf
        Distribution function of the strength, at loads of shape (k,).
    load_of_normal
        The load as a rising function of a standard normal number, shape (k,).

    Source: stress_strength.
    """
    nodes = np.linspace(-WIDEST, WIDEST, NODES)
    density = np.exp(-0.5 * nodes**2) / math.sqrt(2.0 * math.pi)
    step = float(nodes[1] - nodes[0])
    return float((density * strength_cdf(load_of_normal(nodes))).sum() * step)
