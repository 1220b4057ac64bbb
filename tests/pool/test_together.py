import math

import numpy as np

from jointlab.pool.together import field_counts, pooled_combinations
from jointlab.pool.values import FieldEntry, GatheredShop
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.vocabulary import Action, Outcome

SECTION_MM3 = math.pi * 50.0**3 / 32.0
ARM_MM = 300.0


def pull(shop, number, strength_mpa, *, substrate="ash", outcome=Outcome.BROKE, excluded=None):
    return Pull(
        batch=f"{shop} {number % 2}",
        specimen=str(number),
        tested_on="2026-01-17",
        joint=Joint(Combination("hide", substrate), Disc(50.0)),
        action=Action.PRY,
        loading=Loading(load=strength_mpa * SECTION_MM3 / ARM_MM, arm_mm=ARM_MM),
        outcome=outcome,
        broke=Break(),
        conditions=Conditions(),
        excluded_because=excluded,
    )


def shop(name, seed, count=8):
    strengths = 4.0 * np.exp(0.2 * np.random.default_rng(seed).standard_normal(count))
    return GatheredShop(name, (name,), tuple(pull(name, n, float(each)) for n, each in enumerate(strengths)))


def test_a_combination_of_enough_shops_is_pooled_by_every_estimator():
    (pooled,) = pooled_combinations([shop("a", 1), shop("b", 2), shop("c", 3)])
    assert pooled.pulls == 24
    assert pooled.pooled is not None
    assert [effect.between for effect in pooled.pooled.effects] == ["dersimonian_laird", "paule_mandel", "reml"]
    assert 1.5 < pooled.pooled.next_joint_mpa < 4.0


def test_too_few_shops_are_shown_and_not_pooled():
    (pooled,) = pooled_combinations([shop("a", 1), shop("b", 2)])
    assert pooled.pooled is None
    assert "2 shops bring 3 breaks" in pooled.why_not
    assert [seen.pulls for seen in pooled.seen] == [8, 8]


def test_the_combination_of_most_shops_comes_first_and_excluded_pulls_stay_out():
    odd = GatheredShop("d", ("d",), (pull("d", 1, 3.0, substrate="MDF"), pull("d", 2, 3.0, excluded="clamp slipped")))
    pooled = pooled_combinations([odd, shop("a", 1), shop("b", 2), shop("c", 3)])
    assert [each.combination.substrate for each in pooled] == ["ash", "MDF"]
    assert [each.pulls for each in pooled] == [24, 1]


def test_a_held_joint_is_seen_without_an_upper_bound():
    held = GatheredShop("d", ("d",), (pull("d", 1, 3.0, outcome=Outcome.HELD),))
    (pooled,) = pooled_combinations([held])
    ((lower, upper),) = pooled.seen[0].bounds_mpa
    assert round(lower, 9) == 3.0
    assert upper is None


def test_mounts_are_counted_by_size_and_heaviest_catch():
    entries = [
        FieldEntry(120.0, 60.0, None, "finished", "pass"),
        FieldEntry(140.0, 60.0, None, "finished", "undecided"),
        FieldEntry(140.0, 60.0, None, "near_miss", "pass"),
        FieldEntry(400.0, 90.0, "severe", "let_go", "fail"),
        FieldEntry(400.0, 90.0, "severe", None, "pass"),
    ]
    small, large = field_counts(entries)
    assert (small.size, small.worst_catch, small.mounts) == ("up to 150 mm", "none", 3)
    assert small.ends == (("finished", 2), ("near_miss", 1))
    assert (large.size, dict(large.ends)) == ("over 350 mm", {"let_go": 1, "in use": 1})
