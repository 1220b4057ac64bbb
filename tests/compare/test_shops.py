import math

import numpy as np
import pytest

from jointlab.compare.shops import ShopMean, ShopSample, next_joint_bound, pool_shops, spreads_of
from jointlab.errors import AnalysisError
from jointlab.strength.sample import StrengthSample


def shop(name: str, rng: np.random.Generator, *, shift: float = 0.0, glue_ups: int = 2, n: int = 8) -> ShopSample:
    batch = np.arange(n) % glue_ups
    return ShopSample(name, StrengthSample.of_values(np.exp(1.3 + shift + 0.2 * rng.standard_normal(n)), batch=batch))


def shops(count: int, *, tau: float, seed: int = 3) -> list[ShopSample]:
    rng = np.random.default_rng(seed)
    return [shop(f"shop {number}", rng, shift=tau * rng.standard_normal()) for number in range(count)]


def test_shops_that_differ_show_it_and_hold_the_next_joint_s_bound_down():
    alike, apart = pool_shops(shops(6, tau=0.0, seed=4)), pool_shops(shops(6, tau=0.4))
    assert alike.heterogeneity.p_value > 0.05
    assert apart.heterogeneity.p_value < 1e-6
    assert apart.next_joint_mpa < 0.7 * alike.next_joint_mpa
    assert [effect.tau2 > 0.05 for effect in apart.effects] == [True, True, True]
    assert len(apart.shops) == len(apart.without) == 6
    assert apart.left_out == ()


def test_the_shop_that_stands_apart_is_the_one_whose_absence_counts():
    rng = np.random.default_rng(5)
    pooled = pool_shops([*[shop(f"{n}", rng) for n in range(5)], shop("odd", rng, shift=-1.0)])
    most = max(pooled.without, key=lambda each: each.median_mpa)
    least = min(pooled.without, key=lambda each: each.tau)
    assert most.shop == least.shop == "odd"


def test_units_scale_and_shops_may_come_in_any_order():
    three = shops(5, tau=0.2)
    doubled = [
        ShopSample(each.shop, StrengthSample.of_values(2.0 * each.sample.lower_mpa, batch=each.sample.batch))
        for each in three
    ]
    once, twice, turned = pool_shops(three), pool_shops(doubled), pool_shops(three[::-1])
    assert twice.next_joint_mpa == pytest.approx(2.0 * once.next_joint_mpa, rel=1e-9)
    assert turned.next_joint_mpa == pytest.approx(once.next_joint_mpa, rel=1e-9)
    assert twice.effects[0].tau2 == pytest.approx(once.effects[0].tau2, rel=1e-6)


def test_a_shop_that_says_too_little_is_left_out_by_name_and_two_are_not_pooled():
    few = ShopSample("few", StrengthSample.of_intervals([2.0, 2.1, 3.0, 3.0], [2.0, 2.1, np.inf, np.inf]))
    same = ShopSample("same", StrengthSample.of_values([2.0, 2.0, 2.0]))
    assert pool_shops([*shops(3, tau=0.1), few, same]).left_out == ("few", "same")
    with pytest.raises(AnalysisError, match="2 shops bring 3 breaks"):
        pool_shops([*shops(2, tau=0.1), few])


def test_held_joints_count_as_stronger_than_they_were_loaded():
    rng = np.random.default_rng(8)
    whole = [shop(f"{n}", rng, n=12) for n in range(4)]
    cap = 4.0
    capped = [
        ShopSample(
            each.shop,
            StrengthSample.of_intervals(
                np.minimum(each.sample.lower_mpa, cap),
                np.where(each.sample.lower_mpa > cap, np.inf, each.sample.lower_mpa),
                batch=each.sample.batch,
            ),
        )
        for each in whole
    ]
    assert any(each.sample.held.any() for each in capped)
    assert pool_shops(capped).effects[0].mean == pytest.approx(pool_shops(whole).effects[0].mean, abs=0.04)


def test_spreads_are_the_mean_squares_of_the_nested_layout():
    sample = StrengthSample.of_values(np.exp([1.0, 1.2, 2.0, 2.4]), batch=[0, 0, 1, 1])
    got = spreads_of([sample, sample])
    assert got.joints == pytest.approx((0.02 + 0.08) / 2)
    assert (got.joints_freedom, got.glue_ups_freedom, got.usual) == (4, 2, 2.0)
    assert got.glue_ups == pytest.approx(4 * 0.55**2)


def test_the_next_joint_of_a_further_shop_exceeds_the_bound_as_often_as_it_says():
    # 400 pools of five shops, two glue-ups of four; shops and glue-ups differ as much as joints do. Coverage 97 +- 1 %.
    rng, covered = np.random.default_rng(11), []
    for _ in range(400):
        samples = []
        for _ in range(5):
            levels = 0.2 * rng.standard_normal() + 0.2 * rng.standard_normal(2)
            batch = np.arange(8) % 2
            samples.append(StrengthSample.of_values(np.exp(levels[batch] + 0.2 * rng.standard_normal(8)), batch=batch))
        effect = np.array([np.log(sample.lower_mpa).mean() for sample in samples])
        means = [ShopMean("", 8, 8, 2, mean, 0.2, 0.01) for mean in effect]
        bound = next_joint_bound(effect, means, spreads_of(samples), confidence=0.95, draws=4000)
        spread = 0.2 * math.sqrt(3.0)
        covered.append(0.5 * math.erfc(bound / spread / math.sqrt(2.0)))
    assert 0.955 < float(np.mean(covered)) < 0.99
