"""Uncertainty of a reading and of what follows from it, to first order (GUM)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from jointlab.stress.rigging import weight_n

SOURCE = "gum"

SCALE_ACCURACY_SHARE = 0.005
"""Half-width of a luggage or crane scale's error, as a share of the reading. Common practice, no source ("trade")."""

SCALE_RESOLUTION_N = weight_n(0.1)
"""Step of such a scale's display [N]. Common practice, no source ("trade")."""

SCALE_ZERO_N = weight_n(0.2)
"""Half-width of such a scale's zero and drift [N]. Common practice, no source ("trade")."""

TORQUE_WRENCH_SHARE = 0.04
"""Half-width of a torque wrench's error as a share of the reading. ISO 6789, read second-hand ("iso_6789")."""

BOND_EDGE_MM = 0.3
"""Half-width of a caliper's error on a ragged bond edge [mm], not the caliper's own. Common practice ("trade")."""

TAPE_MM = 2.0
"""Half-width of an arm measured by tape [mm]. Common practice, no source ("trade")."""


def of_limits(half_width: float) -> float:
    """Standard uncertainty of a value known to lie within +- ``half_width`` (rectangular): a / sqrt 3. Source: GUM."""
    return half_width / math.sqrt(3.0)


def of_resolution(step: float) -> float:
    """Standard uncertainty of a display that moves in steps: q / sqrt 12. Source: GUM F.2.2.1."""
    return step / math.sqrt(12.0)


def combined(*standard_uncertainties: float) -> float:
    """Standard uncertainty of a sum of independent errors: the root of the sum of squares. Source: GUM."""
    return math.hypot(*standard_uncertainties)


def propagated(
    function: Callable[[Mapping[str, float]], float],
    *,
    estimates: Mapping[str, float],
    standard_uncertainties: Mapping[str, float],
) -> float:
    """Standard uncertainty of a function of measured values, to first order.

    u^2 = sum (df/dx_i)^2 u_i^2, the slopes by central differences over a small part of each uncertainty. Source: GUM.

    Parameters
    ----------
    function
        Takes the values by name.
    estimates
        The measured values by name.
    standard_uncertainties
        Standard uncertainties of some or all of them, each in its value's unit.
    """
    terms = []
    for name, uncertainty in standard_uncertainties.items():
        step = 1e-3 * uncertainty
        if step == 0.0:
            continue
        above = function({**estimates, name: estimates[name] + step})
        below = function({**estimates, name: estimates[name] - step})
        terms.append((above - below) / (2.0 * step) * uncertainty)
    return math.hypot(*terms)


def scale_uncertainty_n(force_n: float) -> float:
    """Standard uncertainty of a force read from a luggage or crane scale [N], by the defaults above."""
    return combined(
        of_resolution(SCALE_RESOLUTION_N), of_limits(SCALE_ACCURACY_SHARE * force_n), of_limits(SCALE_ZERO_N)
    )


def torque_uncertainty_nm(torque_nm: float) -> float:
    """Standard uncertainty of a torque read from a wrench [N m], by the default above."""
    return of_limits(TORQUE_WRENCH_SHARE * torque_nm)
