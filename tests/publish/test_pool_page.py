from __future__ import annotations

import html5lib
import numpy as np
import pytest
from bs4 import BeautifulSoup

from jointlab.compare.shops import ShopSample, pool_shops
from jointlab.pool.together import FieldCount
from jointlab.pool.values import Gathered, GatheredShop, PooledCombination, Ruling, RulingKind, ShopSeen
from jointlab.publish.pool_page import (
    PooledPublication,
    field_table,
    forest_alt,
    pool_answer,
    pool_page,
    pool_sentences,
    shops_table,
    together_table,
)
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.strength.sample import StrengthSample

HOSTILE = "<script>alert(1)</script>"
FIELD = (FieldCount("up to 150 mm", "light", 3, (("finished", 2), ("near_miss", 1))),)


def pooled_of(names: tuple[str, ...]) -> PooledCombination:
    rng = np.random.default_rng(4)
    samples = [
        ShopSample(name, StrengthSample.of_values(4.0 * np.exp(0.2 * rng.standard_normal(8)), batch=np.arange(8) % 2))
        for name in names
    ]
    seen = tuple(ShopSeen(each.shop, tuple((v, v) for v in each.sample.lower_mpa.tolist())) for each in samples)
    found = pool_shops(samples) if len(names) > 2 else None
    return PooledCombination(Combination("hide", "ash"), Action.PRY, seen, found, None if found else "two shops only")


@pytest.fixture(scope="module")
def publication() -> PooledPublication:
    names = ("a", "b", HOSTILE, "d")
    shops = tuple(GatheredShop(name, (f"{name}.zip",), ()) for name in names)
    rulings = (Ruling(RulingKind.NAME, f"{HOSTILE} is taken for ash"),)
    each = (pooled_of(names), pooled_of(("a", "b")))
    return PooledPublication(
        HOSTILE, "2026-05-01", "0.1.0", Gathered(shops, rulings), each, FIELD, 0.95, "never a pass"
    )


def test_the_page_is_valid_and_shows_what_a_shop_wrote_as_text(publication) -> None:
    page = pool_page(publication)
    html5lib.HTMLParser(strict=True).parse(page)
    soup = BeautifulSoup(page, "html5lib")
    assert not soup.find_all("script")
    assert soup.h1.get_text() == HOSTILE
    told = " ".join(soup.get_text().split())
    assert "Not pooled: two shops only" in told
    assert "never a pass" in told
    assert f"{HOSTILE} is taken for ash" in told
    assert pool_page(publication) == page


def test_the_answer_is_of_the_combination_that_could_be_pooled(publication) -> None:
    bound_mpa = publication.combinations[0].pooled.next_joint_mpa
    assert pool_answer(publication) == (
        f"Of hide on ash, pry, 4 shops say together that the next joint of a shop still to come exceeds "
        f"{bound_mpa:.3g} MPa, with 95 % confidence."
    )


def test_the_tables_hold_each_shop_and_each_estimator(publication) -> None:
    each = publication.combinations[0]
    shops = shops_table(each)
    assert [row[:4] for row in shops.rows] == [(shop.shop, "8", "8", "2") for shop in each.pooled.shops]
    assert [row[6] for row in shops.rows] == [f"{left.median_mpa:.3g}" for left in each.pooled.without]
    assert [row[0] for row in together_table(each).rows] == [
        "together (DerSimonian-Laird)", "together (Paule-Mandel)", "together (REML)",
    ]  # fmt: skip
    assert field_table(FIELD).rows == (("up to 150 mm", "light", "3", "finished 2, near miss 1"),)


def test_who_cannot_see_the_forest_is_told_its_medians(publication) -> None:
    each = publication.combinations[0]
    assert f"a {each.pooled.shops[0].median_mpa:.3g} MPa" in forest_alt(each)
    assert "that is about one joint, not about 95% of them" in pool_sentences(each, 0.95)[0]
