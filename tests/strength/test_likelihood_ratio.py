import math
from dataclasses import replace

import numpy as np
import pytest

from jointlab.strength import Family, StrengthSample
from jointlab.strength.kernels import STANDARD_NORMAL
from jointlab.strength.known_ratio import known_ratio_bounds
from jointlab.strength.likelihood_ratio import (
    LUMP,
    CalibratedBound,
    _crossing,
    _Ladder,
    _observed,
    _Place,
    _recorded,
    _roots_of,
    calibrated_bound,
)
from jointlab.strength.noncentral_t import percentile_bound
from jointlab.strength.replay import Replay
from jointlab.strength.signed_root import Model

STRENGTH = np.array([3.0, 3.5, 4.1, 5.0, 5.2, 3.9, 4.4, 4.0])
BATCH = [0, 0, 0, 0, 1, 1, 1, 1]
LEVELS = {"coverage": 0.95, "confidence": 0.95}


def capped(at: float) -> StrengthSample:
    return StrengthSample.of_intervals(
        np.minimum(STRENGTH, at), np.where(at < STRENGTH, math.inf, STRENGTH), batch=BATCH
    )


def bound_of(sample: StrengthSample, model: Model, **asked: float) -> CalibratedBound:
    got = calibrated_bound(sample, model, **(LEVELS | asked), replicates=1000)
    assert got is not None
    return got


def test_complete_normal_and_lognormal_pulls_get_their_exact_bounds() -> None:
    sample = StrengthSample.of_values(STRENGTH)
    for family, exact in (
        (Family.NORMAL, percentile_bound(STRENGTH, **LEVELS)),
        (Family.LOGNORMAL, math.exp(percentile_bound(np.log(STRENGTH), **LEVELS))),
    ):
        got = bound_of(sample, Model.of(family))
        assert got.bound_mpa == pytest.approx(exact, abs=4 * got.monte_carlo_sd_mpa)
        assert got.monte_carlo_sd_mpa < 0.015 * exact


def test_complete_pulls_in_batches_get_the_closed_form() -> None:
    sample = StrengthSample.of_values(STRENGTH, batch=BATCH)
    got = bound_of(sample, Model(STANDARD_NORMAL, 0.0, ratio=1.0))
    exact = float(known_ratio_bounds(STRENGTH[None], sample.batch, **LEVELS)[0])
    assert got.bound_mpa == pytest.approx(exact, abs=4 * got.monte_carlo_sd_mpa)


def test_a_cap_above_every_strength_changes_little() -> None:
    model = Model.of(Family.WEIBULL)
    free, below = bound_of(StrengthSample.of_values(STRENGTH), model), bound_of(capped(5.1), model)
    assert below.bound_mpa == pytest.approx(free.bound_mpa, rel=0.12)


@pytest.mark.parametrize("family", Family)
def test_the_bound_depends_on_neither_order_nor_unit(family: Family) -> None:
    sample, model = capped(4.4), Model.of(family)
    turned = StrengthSample.of_intervals(sample.lower_mpa[::-1] * 8, sample.upper_mpa[::-1] * 8)
    one = StrengthSample.of_intervals(sample.lower_mpa, sample.upper_mpa)
    assert bound_of(turned, model).bound_mpa == pytest.approx(8 * bound_of(one, model).bound_mpa, rel=1e-6)


def test_more_coverage_or_confidence_gives_a_lower_bound_and_little_confidence_an_upper_one() -> None:
    sample, model = capped(4.4), Model.of(Family.LOGNORMAL)
    usual = bound_of(sample, model).bound_mpa
    assert bound_of(sample, model, coverage=0.99).bound_mpa < usual
    assert bound_of(sample, model, confidence=0.99).bound_mpa < usual
    assert bound_of(sample, model, confidence=0.05).bound_mpa > usual


def test_breaks_all_in_one_step_still_have_a_bound() -> None:
    sample = StrengthSample.of_intervals([3.0] * 6, [3.5] * 6)
    got = bound_of(sample, Model.of(Family.WEIBULL))
    assert 0.5 < got.bound_mpa < 3.0


def test_without_a_break_there_is_none() -> None:
    held = StrengthSample.of_intervals([3.0, 4.0], [math.inf, math.inf])
    assert calibrated_bound(held, Model.of(Family.WEIBULL), **LEVELS) is None
    assert calibrated_bound(StrengthSample.of_values([]), Model.of(Family.WEIBULL), **LEVELS) is None


def stepped(lower: list[float], upper: list[float]) -> StrengthSample:
    sample = StrengthSample.of_intervals(lower, upper)
    step = np.where(np.array(lower) < np.array(upper), 0.2, 0.0)
    return replace(sample, cap_mpa=np.full(sample.n, 1.4), load_step_mpa=step)


def test_three_pulls_in_one_step_have_the_end_of_the_range_that_their_root_leaves_open() -> None:
    sample, model = stepped([0.8] * 3, [1.0] * 3), Model.of(Family.LOGNORMAL)
    got = bound_of(sample, model)
    assert 0.003 < got.monte_carlo_sd_mpa < 0.02
    # By other draws, as many samples as the confidence leaves have so large a root there, and many more above it.
    observed, replay = _observed(sample, model, 0.95), Replay.of(sample)
    standard = model.draws(np.random.default_rng(99), replay.batch, 2000)
    for bound, least, most in ((got.bound_mpa, 0.035, 0.065), (1.1 * got.bound_mpa, 0.075, 0.2)):
        point = (math.log(bound) - observed.centre) / observed.spread
        root, spread = observed.root_at(point)
        recorded = _recorded(observed, replay, standard, _Place(point, spread))
        roots = _roots_of(model, replay.batch, recorded, observed.share)
        assert least < (roots >= root - LUMP).mean() < most


@pytest.mark.parametrize("family", Family)
def test_an_exact_break_in_the_step_of_two_others_does_not_make_three_pulls_certain(family: Family) -> None:
    one_step = bound_of(stepped([0.8, 0.8, 0.9], [1.0, 1.0, 0.9]), Model.of(family))
    assert one_step.bound_mpa < 0.6
    assert one_step.monte_carlo_sd_mpa > 0.001


POINTS = np.linspace(-2.0, 0.0, 9)


def bent(points: np.ndarray) -> np.ndarray:
    """Falling roots of which the percentile is a parabola: point = -1 - root + root^2 / 10."""
    return np.asarray((1.0 - np.sqrt(1.0 + 0.4 * (points + 1.0))) / 0.2)


@pytest.mark.parametrize("at", [-1.99, -1.8, -1.3, -0.7, -0.26, -0.01])
def test_a_percentile_between_two_looked_at_lies_on_the_parabola_through_three(at: float) -> None:
    root = float(bent(np.array([at]))[0])
    assert _crossing(POINTS, bent(POINTS), root) == pytest.approx(at, abs=1e-12)


def test_where_roots_do_not_fall_throughout_a_straight_line_is_drawn() -> None:
    # the three nearest, 0.9, 1.0 and 0.5, first rise: 0.75 lies half way between the last two
    roots = np.array([2.0, 1.5, 0.9, 1.0, 0.5, 0.4, 0.3, 0.2, 0.1])
    assert _crossing(POINTS, roots, 0.75) == pytest.approx(-1.125, abs=1e-12)
    # and where two are level, a quarter of the way from the second of them down
    level = np.array([2.0, 1.0, 1.0, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1])
    assert _crossing(POINTS, level, 0.9) == pytest.approx(-1.5 + 0.25 * 0.25, abs=1e-12)


def test_more_samples_are_drawn_than_a_few_until_the_error_is_under_one_in_a_hundred() -> None:
    sample, model = capped(5.1), Model.of(Family.LOGNORMAL)
    few = calibrated_bound(sample, model, **LEVELS, replicates=100)
    usual = calibrated_bound(sample, model, **LEVELS)
    assert few is not None
    assert usual is not None
    assert usual.monte_carlo_error is not None
    assert few.monte_carlo_error is not None
    assert usual.monte_carlo_error < 0.01
    assert usual.monte_carlo_error < 0.7 * few.monte_carlo_error


def test_a_bound_moved_by_the_error_told_of_it_has_a_root_moved_by_the_error_of_the_root() -> None:
    sample, model = StrengthSample.of_values([2.1, 3.0, 3.4, 4.1, 5.2]), Model.of(Family.NORMAL)
    observed = _observed(sample, model, 0.95)
    bound = _Ladder(observed, Replay.of(sample), 1.0, 100)._bound(1.5, 0.01)
    assert bound is not None
    ends = np.array([bound.bound_mpa, bound.bound_mpa - bound.monte_carlo_sd_mpa])
    roots = observed.roots_at((ends - observed.centre) / observed.spread)[0]
    assert roots == pytest.approx([1.5, 1.51], abs=1e-4)  # 1 % of the error; a chord two spreads long is 5 % off
