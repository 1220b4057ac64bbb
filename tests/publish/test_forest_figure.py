import numpy as np
import pytest

from jointlab.compare.shops import ShopSample, pool_shops
from jointlab.pool.values import PooledCombination, ShopSeen
from jointlab.publish.drawing import ImageForm
from jointlab.publish.forest_figure import forest_figure, shop_interval_mpa
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.strength.sample import StrengthSample


@pytest.fixture(scope="module")
def pooled():
    rng = np.random.default_rng(4)
    samples = [
        ShopSample(name, StrengthSample.of_values(4.0 * np.exp(0.2 * rng.standard_normal(8)), batch=np.arange(8) % 2))
        for name in ("a", "b", "<c>")
    ]
    seen = tuple(ShopSeen(each.shop, tuple((v, v) for v in each.sample.lower_mpa.tolist())) for each in samples)
    return PooledCombination(Combination("hide", "ash"), Action.PRY, seen, pool_shops(samples))


def test_the_same_pool_gives_the_same_drawing(pooled):
    assert forest_figure(pooled) == forest_figure(pooled)
    assert forest_figure(pooled, form=ImageForm.PNG).startswith(b"\x89PNG")


def test_a_shop_s_bar_holds_its_median(pooled):
    for shop in pooled.pooled.shops:
        lower, upper = shop_interval_mpa(shop)
        assert lower < shop.median_mpa < upper
        assert lower * upper == pytest.approx(shop.median_mpa**2)
