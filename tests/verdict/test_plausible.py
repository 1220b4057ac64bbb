"""Shops that could have made the pulls at hand."""

from __future__ import annotations

import numpy as np
import pytest

from jointlab.record.vocabulary import SubstrateKind
from jointlab.strength.sample import StrengthSample
from jointlab.verdict.plausible import SPREADS, plausible_shops, void_shares_of
from jointlab.verdict.shops import Design

BATCH = [0, 1] * 5
NEAR = [4.2, 4.3, 4.5, 4.6, 4.4, 4.1, 4.7, 4.2, 4.5, 4.4]
FAR = [4.2, 2.9, 5.6, 4.6, 6.3, 3.1, 4.7, 5.2, 3.5, 4.4]


def usual_spread(shops):
    chance = shops.chance.sum(axis=1)
    return sum(share * truth.cov for share, truth in zip(chance, shops.truths, strict=True))


def test_pulls_far_apart_come_from_joints_that_spread_more():
    near, far = (plausible_shops(StrengthSample.of_values(row, batch=BATCH), void_shares=(0.0,)) for row in (NEAR, FAR))
    assert near.chance.sum() == pytest.approx(1.0)
    assert SPREADS[0] < usual_spread(near) < 0.13
    assert 0.20 < usual_spread(far) < 0.27


def test_glue_ups_far_apart_are_thought_unlike():
    alike = StrengthSample.of_values(FAR, batch=BATCH)
    apart = StrengthSample.of_values(sorted(FAR), batch=[0] * 5 + [1] * 5)

    def unlike(sample):
        shops = plausible_shops(sample, void_shares=(0.0,))
        chance = shops.chance.sum(axis=1)
        return sum(share for share, truth in zip(chance, shops.truths, strict=True) if truth.batch_ratio == 1.0)

    assert unlike(alike) < 0.3 < 0.6 < unlike(apart)


def test_one_joint_at_half_the_strength_of_the_others_makes_voids_likely():
    def voided(strengths):
        shops = plausible_shops(StrengthSample.of_values(strengths, batch=BATCH), void_shares=(0.0, 0.1))
        chance = shops.chance.sum(axis=1)
        return sum(share for share, truth in zip(chance, shops.truths, strict=True) if truth.void_share)

    assert voided(NEAR) < 0.4
    assert voided([0.45 * NEAR[0], *NEAR[1:]]) > 0.9


def test_what_held_is_weighed_as_no_less_than_that():
    held = StrengthSample.of_intervals(NEAR, [*NEAR[:5], *[np.inf] * 5], batch=BATCH)
    shops, seen = (
        plausible_shops(sample, void_shares=(0.0,)) for sample in (held, StrengthSample.of_values(NEAR, batch=BATCH))
    )
    drawn = [
        each.new_strengths(Design(4, 2), futures=4000, rng=np.random.default_rng(1)).mean() for each in (shops, seen)
    ]
    assert 1.04 < drawn[0] / drawn[1] < 1.25


def test_a_unit_scales_the_futures_and_nothing_else():
    one, thousand = (StrengthSample.of_values([scale * value for value in FAR], batch=BATCH) for scale in (1.0, 1000.0))
    drawn = [
        plausible_shops(sample, void_shares=(0.0,)).new_strengths(
            Design(4, 2), futures=200, rng=np.random.default_rng(5)
        )
        for sample in (one, thousand)
    ]
    assert np.allclose(drawn[1], 1000.0 * drawn[0], rtol=1e-9)


def test_futures_keep_the_mean_and_share_it_within_a_glue_up():
    shops = plausible_shops(StrengthSample.of_values(FAR, batch=BATCH), void_shares=(0.0,))
    drawn = np.log(shops.new_strengths(Design(4, 2), futures=40_000, rng=np.random.default_rng(3)))
    assert float(np.median(drawn)) == pytest.approx(float(np.log(FAR).mean()), abs=0.05)
    together, apart = np.corrcoef(drawn.T)[0, 2], np.corrcoef(drawn.T)[0, 1]
    assert 0.1 < apart < together < 0.7


def test_only_solid_wood_is_thought_free_of_voids():
    assert void_shares_of([SubstrateKind.SOLID_FACE, SubstrateKind.SOLID_END]) == (0.0,)
    assert len(void_shares_of([SubstrateKind.SOLID_FACE, SubstrateKind.MDF])) == 2
    assert len(void_shares_of([])) == 2


def test_the_share_below_is_that_of_the_futures():
    shops = plausible_shops(StrengthSample.of_values(FAR, batch=BATCH), void_shares=(0.0, 0.1))
    drawn = shops.new_strengths(Design(1, 1), futures=40_000, rng=np.random.default_rng(4))[:, 0]
    asked = np.array([0.0, 1.5, 3.0, 4.4, 6.0, 60.0])
    assert shops.share_below(asked) == pytest.approx([(drawn < at).mean() for at in asked], abs=0.01)


def test_the_next_joint_is_spread_wider_than_those_seen():
    shops = plausible_shops(StrengthSample.of_values(FAR, batch=BATCH), void_shares=(0.0,))
    middle = float(np.exp(np.log(FAR).mean()))
    below = shops.share_below(np.array([0.0, min(FAR), middle]))
    assert below[0] == 0.0
    assert 0.04 < below[1] < 0.15
    assert below[2] == pytest.approx(0.5, abs=0.06)
