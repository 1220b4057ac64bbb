import math

import numpy as np
import pytest

from jointlab.strength import StrengthSample
from jointlab.strength.band import Band, simultaneous_band


def holds_uniform(band: Band | None) -> bool:
    """Whether the share t below a stress t lies within the band at every t between 0 and 1."""
    assert band is not None
    until = np.append(band.stress_mpa[1:], 1.0)
    if band.stress_mpa[0] > band.high_before + 1e-12:
        return False
    return bool((band.low <= band.stress_mpa + 1e-12).all() and (until <= band.high + 1e-12).all())


def test_the_band_holds_everywhere_at_once_in_95_of_100_samples() -> None:
    rng = np.random.default_rng(6)
    inside = [holds_uniform(simultaneous_band(StrengthSample.of_values(rng.random(8)))) for _ in range(2000)]
    assert np.mean(inside) == pytest.approx(0.95, abs=0.015)  # three standard errors


def test_steps_and_held_pulls_only_widen_it() -> None:
    rng, inside = np.random.default_rng(7), []
    for _ in range(600):
        floor = np.floor(rng.random(8) / 0.2) * 0.2
        held = floor > 0.55
        upper = np.where(held, math.inf, floor + 0.2)
        sample = StrengthSample.of_intervals(np.where(held, 0.6, floor), upper)
        inside.append(sample.held.all() or holds_uniform(simultaneous_band(sample)))
    assert np.mean(inside) >= 0.95


def test_more_confidence_widens_and_no_break_gives_none() -> None:
    sample = StrengthSample.of_values([1.0, 2.0, 3.0])
    usual, surer = simultaneous_band(sample), simultaneous_band(sample, confidence=0.99)
    assert usual is not None
    assert surer is not None
    assert (surer.low < usual.low).all()
    assert (surer.high >= usual.high).all()
    assert simultaneous_band(StrengthSample.of_intervals([3.0], [math.inf])) is None
