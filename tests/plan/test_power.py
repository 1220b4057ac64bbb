"""Power: exact against tables and simulation, by simulation against exact."""

import math
from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare.blocks import estimates_in_blocks
from jointlab.compare.pairs import every_pair
from jointlab.compare.simultaneous import factor_of
from jointlab.plan.power import (
    block_layout,
    chance_to_see,
    chance_to_show,
    detectable_difference_sd,
    power_curve,
    power_of_two_means,
)
from jointlab.plan.values import SeeDifference, ShowStrength
from jointlab.strength import StrengthSample, lower_bound


def test_the_power_of_two_means_agrees_with_the_general_library() -> None:
    from statsmodels.stats.power import TTestIndPower

    library = TTestIndPower()
    for n, difference in ((5, 2.0), (8, 1.2), (20, 0.5)):
        expected = library.power(effect_size=difference, nobs1=n, alpha=0.05)
        assert power_of_two_means(difference_sd=difference, n=n) == pytest.approx(expected, abs=1e-7)
    assert power_of_two_means(difference_sd=0.0, n=6) == pytest.approx(0.05, abs=1e-9)


def test_the_difference_found_has_the_chance_asked_for() -> None:
    d = detectable_difference_sd(n=7, chance=0.9, confidence=0.99)
    assert power_of_two_means(difference_sd=d, n=7, confidence=0.99) == pytest.approx(0.9, abs=1e-9)


def test_two_combinations_in_blocks_have_nearly_the_power_of_a_t_test() -> None:
    # Two glue-ups of five: 20 pulls less two combinations and one glue-up more leave 17 degrees of freedom; a t test of
    # ten each has 18. A spread of its own for each costs a little.
    wish = SeeDifference(math.exp(0.2 * 1.3), expected_mpa=1.0, log_sd=0.2)
    got = chance_to_see(
        wish,
        combinations=2,
        glue_ups=2,
        each=5,
        confidence=0.95,
        against_control=False,
        rng=np.random.default_rng(1),
    )
    exact = power_of_two_means(difference_sd=1.3, n=10)
    assert got == pytest.approx(exact, abs=0.02)


def test_the_chance_to_see_is_that_of_the_comparison_itself() -> None:
    wish = SeeDifference(1.45, expected_mpa=1.0, log_sd=0.2)
    promised = chance_to_see(
        wish,
        combinations=3,
        glue_ups=2,
        each=4,
        confidence=0.95,
        against_control=False,
        rng=np.random.default_rng(2),
    )
    layout, rng, seen, tests = block_layout(3, 2, 4), np.random.default_rng(3), 0, 400
    family = every_pair(3)
    for _ in range(tests):
        y = 0.2 * rng.standard_normal(layout.n) + 0.2 * rng.standard_normal(2)[layout.block]
        seen_now = replace(layout, lower=y + math.log(1.45) * (layout.group == 0), upper=y)
        got = estimates_in_blocks(seen_now, family=family, ratio=1.0, replicates=399, rng=rng)
        low = (got.log_median[0] - got.log_median[1]) - factor_of(got.largest, confidence=0.95) * got.errors[0]
        seen += low > 0.0
    assert seen / tests == pytest.approx(promised, abs=0.06)  # 2.5 standard errors; the larger study holds two points


def test_a_control_needs_fewer_specimens_than_every_pair() -> None:
    wish = SeeDifference(1.4, expected_mpa=1.0, log_sd=0.2)
    chances = [
        chance_to_see(
            wish,
            combinations=5,
            glue_ups=2,
            each=4,
            confidence=0.95,
            against_control=against,
            rng=np.random.default_rng(4),
        )
        for against in (True, False)
    ]
    assert chances[0] > chances[1] + 0.05


def test_the_chance_to_show_a_strength_is_that_of_the_working_bound() -> None:
    wish = ShowStrength(1.5, expected_mpa=4.0, log_sd=0.2)
    promised = chance_to_show(wish, glue_ups=2, each=6, confidence=0.95, rng=np.random.default_rng(5))
    rng = np.random.default_rng(6)
    batch, shown = np.repeat([0, 1], 6), 0
    for _ in range(300):
        logs = math.log(4.0) + 0.2 * (rng.standard_normal(2)[batch] + rng.standard_normal(12))
        bound = lower_bound(StrengthSample.of_values(np.exp(logs), batch=batch)).bound_mpa
        shown += bound is not None and bound >= 1.5
    assert shown / 300 == pytest.approx(promised, abs=0.07)
    assert 0.1 < promised < 0.9


def test_a_block_layout_holds_every_combination_in_every_glue_up() -> None:
    layout = block_layout(3, 2, 4)
    assert (layout.n, layout.blocks, layout.connected) == (24, 2, True)
    assert list(layout.sizes) == [8, 8, 8]


def test_a_curve_never_falls() -> None:
    points = power_curve([(6, 0.5), (4, 0.3), (8, 0.49)])
    assert [(point.specimens, point.chance) for point in points] == [(4, 0.3), (6, 0.5), (8, 0.5)]
