"""Trends: a slope found again, censoring counted, a size exponent beside the weakest link."""

import math
from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare.trends import Quantity, quantity_of, size_effect, trend_of
from jointlab.errors import AnalysisError
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Conditions, Loading, Pull
from jointlab.record.vocabulary import Action, Outcome
from jointlab.strength.values import Family
from jointlab.stress.joint_stress_of import joint_stress_of


def pulls_of(slope: float, *, n: int = 24, sd: float = 0.1, seed: int = 21, held_above: float = math.inf) -> list[Pull]:
    """Pries whose ln strength rises by ``slope`` for each ln hour of cure, on two substrates."""
    rng = np.random.default_rng(seed)
    found = []
    for k in range(n):
        hours = float(np.exp(rng.uniform(math.log(12), math.log(336))))
        substrate = "maple" if k % 2 else "mdf"
        load = 100.0 * (2.0 if k % 2 else 1.0) * hours**slope * math.exp(sd * rng.standard_normal())
        held = load > held_above
        found.append(
            Pull(
                batch=f"B{k}",
                specimen="1",
                tested_on="2026-03-14",
                joint=Joint(Combination("yellow", substrate), Disc(50.0), void_pct=5.0),
                action=Action.PRY,
                loading=Loading(load=min(load, held_above), arm_mm=300.0),
                outcome=Outcome.HELD if held else Outcome.BROKE,
                conditions=Conditions(cure_h=hours),
            )
        )
    return found


def trend(pulls: list[Pull], quantity: Quantity = Quantity.CURE_H, family: Family = Family.LOGNORMAL):
    return trend_of(pulls, [joint_stress_of(pull) for pull in pulls], quantity=quantity, family=family)


@pytest.mark.parametrize("family", [Family.LOGNORMAL, Family.WEIBULL])
def test_a_trend_with_cure_is_found_per_doubling(family: Family) -> None:
    got = trend(pulls_of(0.2), family=family)
    assert got.per == "cure time times 2"
    assert got.ratio.lower < 2.0**0.2 < got.ratio.upper
    assert got.p_value < 0.01
    assert got.n == 24
    assert 12 <= got.span[0] < got.span[1] <= 336
    middle = min(got.curve, key=lambda point: abs(point.ratio.value - 1.0))
    assert middle.ratio.upper - middle.ratio.lower < got.curve[-1].ratio.upper - got.curve[-1].ratio.lower


def test_joints_that_held_pull_the_trend_less_than_if_they_had_broken() -> None:
    held = pulls_of(0.2, held_above=450.0)
    taken_as_broken = [replace(pull, outcome=Outcome.BROKE) for pull in held]
    assert sum(pull.outcome is Outcome.HELD for pull in held) > 3
    assert trend(held).slope.value > trend(taken_as_broken).slope.value
    assert trend(held).slope.lower < 0.2 < trend(held).slope.upper


def test_no_trend_is_shown_where_there_is_none() -> None:
    got = trend(pulls_of(0.0))
    assert got.p_value > 0.05
    assert got.ratio.lower < 1.0 < got.ratio.upper


def test_a_quantity_that_never_varies_shows_no_trend() -> None:
    with pytest.raises(AnalysisError, match="must vary within a combination"):
        trend(pulls_of(0.2), Quantity.VOID_PCT)
    with pytest.raises(AnalysisError, match="No usable pull states moisture_pct"):
        trend(pulls_of(0.2), Quantity.MOISTURE_PCT)


def test_strength_falling_with_area_as_a_chain_of_links_agrees_with_its_exponent() -> None:
    rng = np.random.default_rng(22)
    pulls = []
    for k, diameter in enumerate(np.repeat([25.0, 35.0, 50.0, 70.0], 8)):
        area = math.pi * diameter**2 / 4
        stress = 5.0 * (area / 2000) ** (-1 / 6) * (-math.log(rng.random())) ** (1 / 6)
        load = stress * math.pi * diameter**3 / 32 / 300.0
        pulls.append(
            replace(
                pulls_of(0.0, n=1)[0],
                batch=f"B{k}",
                joint=Joint(Combination("yellow", "mdf"), Disc(diameter)),
                loading=Loading(load=load, arm_mm=300.0),
            )
        )
    got = size_effect(trend(pulls, Quantity.AREA_MM2, Family.WEIBULL), weibull_shape=6.0)
    assert got.agrees
    assert got.exponent.lower < 1 / 6 < got.exponent.upper
    assert not size_effect(trend(pulls, Quantity.AREA_MM2, Family.WEIBULL), weibull_shape=1.0).agrees
    with pytest.raises(ValueError, match="trend in area"):
        size_effect(trend(pulls_of(0.2)), weibull_shape=6.0)


def test_every_quantity_is_read_from_its_place() -> None:
    pull = replace(
        pulls_of(0.0, n=1)[0],
        conditions=Conditions(cure_h=24.0, clamp_h=2.0, moisture_pct=9.0, gap_mm=0.3),
    )
    got = {quantity: quantity_of(pull, quantity) for quantity in Quantity}
    assert got == {
        Quantity.CURE_H: 24.0,
        Quantity.CLAMP_H: 2.0,
        Quantity.AREA_MM2: pytest.approx(1963.495, abs=1e-3),
        Quantity.VOID_PCT: 5.0,
        Quantity.MOISTURE_PCT: 9.0,
        Quantity.GAP_MM: 0.3,
    }


@pytest.mark.parametrize("family", [Family.LOGNORMAL, Family.WEIBULL])
def test_every_pull_stands_beside_the_curve_at_its_own_value(family: Family) -> None:
    got = trend(pulls_of(0.2, held_above=450.0), family=family)
    assert len(got.pulls) == got.n
    assert sum(pull.upper is None for pull in got.pulls) > 0
    exact = [pull for pull in got.pulls if pull.upper is not None]
    middle = math.exp(sum(math.log(pull.at) for pull in got.pulls) / got.n)
    off = [math.log(pull.lower) - got.slope.value * math.log(pull.at / middle) for pull in exact]
    assert abs(float(np.median(off))) < 0.08
    assert max(map(abs, off)) < 0.4
