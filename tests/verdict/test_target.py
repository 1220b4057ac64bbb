"""What one coupon must hold before any test."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from jointlab.errors import InputError
from jointlab.record.joint import Disc, Rectangle
from jointlab.record.vocabulary import Action
from jointlab.strength.sample import StrengthSample
from jointlab.strength.working import lower_bound
from jointlab.stress.geometry import pry_stress_mpa
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.decide import decide
from jointlab.verdict.target import Coupon, expected_share, target_of
from jointlab.verdict.values import Outcome

PRIED = Coupon(Disc(50.0), arm_mm=300.0)


def test_the_force_to_hold_brings_the_required_stress_to_the_coupon(setup):
    target = target_of(setup, PRIED)
    assert pry_stress_mpa(target.hold_n, outline=Disc(50.0), arm_mm=300.0) == pytest.approx(target.required_mpa)
    assert target.sentences[0].startswith("Your 50 mm disc must hold ")
    assert "in 6 of 6, in 2 glue-ups" in target.sentences[0]


def test_a_bound_at_the_target_passes_and_just_below_does_not(setup, make_evidence):
    untested = replace(setup, joint=replace(setup.joint, batch=None))
    target = target_of(untested, PRIED)
    evidence = make_evidence(target.required_mpa * (1 + 1e-9), 99.0, cure_h=200.0)
    assert decide(untested, evidence).verdict is Outcome.PASS
    assert decide(untested, make_evidence(target.required_mpa * 0.999, 99.0, cure_h=200.0)).verdict is Outcome.UNDECIDED


def test_six_survivors_are_named_for_what_they_show(setup):
    # success run: 1 - p^6 = 0.95 gives p = 0.607; 59 survivors show 95/95, 28 show 95/75
    target = target_of(setup, PRIED)
    assert target.coverage_shown == pytest.approx(0.05 ** (1 / 6))
    assert target.run_needed == 59
    mild = replace(setup, criteria=replace(setup.criteria, confidence=0.75))
    assert target_of(mild, PRIED).run_needed == 28


def test_at_the_average_told_every_other_shop_reaches_the_bound(setup):
    share = expected_share(PRIED, coverage=0.95, confidence=0.95)
    rng = np.random.default_rng(7)
    reached = [
        lower_bound(StrengthSample.of_values(sample, batch=[0, 1] * 3)).bound_mpa >= share * sample.mean()
        for sample in np.exp(0.149 * rng.standard_normal((400, 6)))
    ]
    # both halves are simulated: four standard errors of 400 and 201 draws
    assert np.mean(reached) == pytest.approx(0.5, abs=0.17)
    target = target_of(setup, PRIED)
    assert target.average_n == pytest.approx(target.hold_n / share)


def test_a_rig_too_weak_is_told_and_an_arm_that_suits_it(setup):
    target = target_of(setup, replace(PRIED, cap_n=50.0))
    assert any("Your rig shows up to" in sentence for sentence in target.sentences)
    suited = target_of(setup, replace(PRIED, cap_n=50.0, arm_mm=target.arm_for_cap_mm))
    assert suited.average_n == pytest.approx(25.0)


def test_a_straight_pull_needs_no_arm_and_a_rectangle_is_told_as_one(setup):
    target = target_of(setup, Coupon(Rectangle(25.0, 25.0), action=Action.PULL))
    assert target.hold_n == pytest.approx(625.0 * target.required_mpa)
    assert "25 x 25 mm rectangle" in target.sentences[0]
    assert target.arm_for_cap_mm is None


def test_screws_that_miss_are_told_first_to_be_settled(setup):
    few = replace(setup, screws=replace(setup.screws, count=3))
    assert any("screws miss" in sentence for sentence in target_of(few, PRIED).sentences)


def test_a_coupon_that_cannot_feed_a_pass_is_refused_with_every_reason(setup):
    with pytest.raises(InputError) as caught:
        target_of(setup, Coupon(Disc(50.0), n=4, batches=1))
    assert {problem.column for problem in caught.value.problems} == {"arm_mm", "n"}
    with pytest.raises(InputError, match="each glue-up must have a specimen"):
        target_of(setup, Coupon(Disc(50.0), arm_mm=300.0, n=6, batches=9))
    with pytest.raises(InputError, match="pry or pull"):
        target_of(setup, Coupon(Disc(50.0), action=Action.TWIST))


@pytest.mark.parametrize("load_n", [97.3, 388.01, 1_236.2])
def test_a_load_to_reach_is_told_rounded_up_and_without_a_power_of_ten(setup, load_n):
    sentences = target_of(setup, Coupon(Disc(50.0), arm_mm=load_n)).sentences
    for kilograms, newtons in re.findall(r"(\S+) kgf \((\S+) N\)", " ".join(sentences)):
        assert "e" not in kilograms + newtons
        assert float(newtons) >= target_of(setup, Coupon(Disc(50.0), arm_mm=load_n)).hold_n * 0.9999
        assert float(kilograms) * STANDARD_GRAVITY_M_S2 == pytest.approx(float(newtons), rel=0.02)


@pytest.mark.parametrize(
    ("coupon", "told"),
    [
        (Coupon(Disc(50.0), arm_mm=300.0, n=10**25), "at most 1000"),
        (Coupon(Disc(50.0), arm_mm=300.0, batches=1_001), "at most 1000"),
        (Coupon(Disc(1e-200), arm_mm=300.0), "at least 1 mm2"),
    ],
)
def test_coupons_that_nobody_makes_are_refused(setup, coupon, told):
    with pytest.raises(InputError, match=told):
        target_of(setup, coupon)
