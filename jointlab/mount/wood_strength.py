"""How the table's clear wood changes with moisture, direction of the load, and time under load.

A picture to hold tests against, never a strength to rely on: means of small clear specimens.
"""

from __future__ import annotations

from typing import Any

import numpy as np

SOURCE_MOISTURE = "wood_handbook_5_3"
SOURCE_ANGLE = "nds_2018"
SOURCE_DURATION = "madison_curve"

DRY_PCT = 12.0
GREEN_PCT = 25.0
"""Moisture of the table's dry values, and from which drying begins to strengthen most woods (``SOURCE_MOISTURE``)."""


def at_moisture(*, dry: Any, green: Any, moisture_pct: Any, green_from_pct: Any = GREEN_PCT) -> Any:
    """A strength at a moisture between dry and green, in the unit given.

    P = P12 (P12/Pg)^((12 - M)/(Mp - 12)) (``SOURCE_MOISTURE``, eq. 5-3); from Mp on the green value. Nothing is gained
    below 12 %, where drying checks begin (judgement).

    Parameters
    ----------
    dry, green
        The strength at 12 % and green.
    moisture_pct
        Moisture asked [%].
    green_from_pct
        Mp [%]: 25 unless the wood's own is known (yellow birch 27, Douglas-fir 24).

    Examples
    --------
    >>> round(at_moisture(dry=1370.0, green=1220.0, moisture_pct=16.0))
    1322
    """
    bounded = np.clip(moisture_pct, DRY_PCT, green_from_pct)
    return dry * (dry / green) ** ((DRY_PCT - bounded) / (green_from_pct - DRY_PCT))


def at_angle(*, along: Any, across: Any, angle_rad: Any) -> Any:
    """Strength at an angle to the grain: Hankinson's P Q/(P sin^2 + Q cos^2) (``SOURCE_ANGLE``, 12.3.4)."""
    sine2 = np.sin(angle_rad) ** 2
    return along * across / (along * sine2 + across * (1.0 - sine2))


def duration_share(duration_s: Any) -> Any:
    """Strength of wood under a load held for a time, over that of a standard bending test: the Madison curve.

    (108.4/x^0.04635 + 18.3)/100, x in seconds (``SOURCE_DURATION``). No credit is taken for a short load.
    """
    return (108.4 / np.asarray(duration_s, dtype=np.float64) ** 0.04635 + 18.3) / 100.0
