"""The grab a mount stands: the largest catch force at its reach that keeps the required margin."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from jointlab.mount.demand import LinkDemand
from jointlab.mount.mount_demand import demand_at_force, mount_demand
from jointlab.mount.setup import MountSetup
from jointlab.verdict.assessment import GLUE_LINE, TESTED_LINKS, lower_margin
from jointlab.verdict.capacity import Capacity

FIRST_FORCE_N = 100.0
LARGEST_FORCE_N = 1e9
"""Where the search starts and where it gives up: far beyond any hand tool."""

RELATIVE_WIDTH = 1e-9
"""The force is known to this share of itself."""


def stands_n(setup: MountSetup, capacity: Capacity, *, width: float = RELATIVE_WIDTH) -> float | None:
    """Largest tangential catch force [N] at which every rated link keeps the required margin.

    The force is set freely, not capped by what the lathe delivers, at the worst speed and radius. 0: the steady cases
    already miss the margin. None: the glue line has no strength. Every demand grows with the force, so halving
    the interval finds it, to ``width`` of itself.
    """
    required = setup.criteria.margin
    steady = [link for link in mount_demand(setup).links if link.case.steady]
    glue = [lower_margin(link, capacity) for link in steady if link.link == GLUE_LINE]
    if not glue or None in glue:
        return None
    if least_rated_margin(steady, capacity) < required:
        return 0.0

    def kept(force_n: float) -> bool:
        return least_rated_margin(demand_at_force(setup, force_n), capacity) >= required

    return largest_kept(kept, width=width)


def least_rated_margin(links: Iterable[LinkDemand], capacity: Capacity) -> float:
    """Least lower margin over the links that have one; infinite when none has."""
    # surfaces within the tested joint carry the glue line's margin: it is taken once
    own = (link for link in links if link.link == GLUE_LINE or link.link not in TESTED_LINKS)
    margins = [lower_margin(link, capacity) for link in own]
    return min((margin for margin in margins if margin is not None), default=math.inf)


def largest_kept(kept: Callable[[float], bool], *, width: float = RELATIVE_WIDTH) -> float:
    """Largest force [N] that is kept, every smaller one being kept too; 0 when none is."""
    low, high = 0.0, FIRST_FORCE_N
    while kept(high):
        if high >= LARGEST_FORCE_N:
            return high
        low, high = high, 2.0 * high
    while high - low > width * high and high > RELATIVE_WIDTH:
        middle = (low + high) / 2.0
        low, high = (middle, high) if kept(middle) else (low, middle)
    return low
