"""Which assumption of the demand matters: each over its range, one at a time and all together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from jointlab.mount.actions import CASE_OF_CATCH
from jointlab.mount.assumptions import ASSUMPTIONS, Assumption
from jointlab.mount.demand import MountDemand, StressDemand
from jointlab.mount.mount_demand import GLUE_LINE, mount_demand
from jointlab.mount.setup import MountSetup

Values = npt.NDArray[np.float64]

Measure = Callable[[MountSetup, MountDemand], Any]
"""One number of a mount from its demand, of the mount's own shape: a stress, or 1/margin."""


@dataclass(frozen=True, slots=True)
class Swing:
    """What one assumption does to a measure while all others stay.

    Parameters
    ----------
    assumption
        With its range.
    at_low, at_high
        The measure at the ends of the range.
    stands
        The measure as the setup assumes it now.
    """

    assumption: Assumption
    at_low: float
    at_high: float
    stands: float

    @property
    def width(self) -> float:
        """Largest over smallest of the three, less 1: 0 when the assumption does not matter."""
        values = (self.at_low, self.at_high, self.stands)
        return max(values) / min(values) - 1.0 if min(values) > 0.0 else float(max(values) > 0.0)


@dataclass(frozen=True, slots=True)
class Study:
    """All assumptions drawn together, each evenly over its range.

    Parameters
    ----------
    assumptions
        In the order of the columns.
    drawn
        Values drawn, (draws, assumptions).
    measured
        The measure of each draw, (draws,).
    rank_correlation
        Of each assumption with the measure, -1 to 1; 0 where it does not matter.
    """

    assumptions: tuple[Assumption, ...]
    drawn: Values
    measured: Values
    rank_correlation: tuple[float, ...]

    def quantile(self, share: float) -> float:
        """The measure below which this share of the draws lies."""
        return float(np.quantile(self.measured, share))


def glue_line_tension(setup: MountSetup, demand: MountDemand) -> Any:
    """Largest tension of the glue line under the chosen catch [MPa]: the measure unless another is wished."""
    case = CASE_OF_CATCH[setup.criteria.catch]
    found = next(link for link in demand.links if link.link == GLUE_LINE and link.case is case)
    assert isinstance(found.demand, StressDemand)
    return found.demand.tension_mpa


def swings_of(
    setup: MountSetup, *, measure: Measure = glue_line_tension, assumptions: tuple[Assumption, ...] = ASSUMPTIONS
) -> tuple[Swing, ...]:
    """Each assumption moved to either end of its range while all others stay, the widest swing first.

    Parameters
    ----------
    setup
        One mount.
    measure
        What to look at.
    assumptions
        Which to move.
    """
    count = len(assumptions)
    varied = setup
    for place, assumption in enumerate(assumptions):
        values = np.full(2 * count + 1, float(np.max(assumption.value(setup))))
        values[2 * place], values[2 * place + 1] = assumption.low, assumption.high
        varied = assumption.changed(varied, values)
    measured = np.broadcast_to(measure(varied, mount_demand(varied)), (2 * count + 1,))
    swings = [
        Swing(assumption, float(measured[2 * place]), float(measured[2 * place + 1]), float(measured[-1]))
        for place, assumption in enumerate(assumptions)
    ]
    return tuple(sorted(swings, key=lambda swing: -swing.width))


def study_of(
    setup: MountSetup,
    *,
    rng: np.random.Generator,
    draws: int = 10_000,
    measure: Measure = glue_line_tension,
    assumptions: tuple[Assumption, ...] = ASSUMPTIONS,
) -> Study:
    """All assumptions drawn together, each evenly over its range, in one call.

    Parameters
    ----------
    setup
        One mount.
    rng
        Where chance comes from.
    draws
        How many mounts to draw.
    measure
        What to look at.
    assumptions
        Which to draw.
    """
    drawn = np.empty((draws, len(assumptions)))
    varied = setup
    for place, assumption in enumerate(assumptions):
        drawn[:, place] = rng.uniform(assumption.low, assumption.high, draws)
        varied = assumption.changed(varied, drawn[:, place].copy())
    measured = np.array(np.broadcast_to(measure(varied, mount_demand(varied)), (draws,)), dtype=np.float64)
    correlations = tuple(_rank_correlation(drawn[:, place], measured) for place in range(len(assumptions)))
    drawn.setflags(write=False)
    measured.setflags(write=False)
    return Study(assumptions, drawn, measured, correlations)


def _rank_correlation(one: Values, other: Values) -> float:
    if np.ptp(other) == 0.0:
        return 0.0
    ranks = [np.argsort(np.argsort(values, kind="stable"), kind="stable") for values in (one, other)]
    return float(np.corrcoef(ranks[0], ranks[1])[0, 1])
