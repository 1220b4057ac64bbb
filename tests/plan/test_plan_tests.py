"""The plan: specimens from the wish, orders by lot, dates, looks, problems all at once."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from jointlab.errors import InputError
from jointlab.plan import SeeDifference, ShowStrength, Terms, plan_tests
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Combination

WISH = SeeDifference(1.5, expected_mpa=4.0, log_sd=0.2)
TERMS = Terms("Spring", "2026-03-02")


def test_the_fewest_specimens_that_reach_the_chance_are_planned(plan) -> None:
    assert plan.chance >= 0.8
    fewer = [point for point in plan.curve if point.specimens < plan.specimens_each]
    assert fewer
    assert all(point.chance < 0.8 for point in fewer)
    assert len(plan.specimens) == 4 * plan.specimens_each


def test_each_look_carries_its_share_of_the_doubt(plan, combinations) -> None:
    assert plan.confidence_at_look == pytest.approx(0.975)
    once = plan_tests(combinations, wish=WISH, terms=TERMS, rng=np.random.default_rng(1))
    assert once.confidence_at_look == pytest.approx(0.95)
    by_n = {point.specimens: point.chance for point in once.curve}
    assert all(point.chance <= by_n[point.specimens] + 0.01 for point in plan.curve)


def test_every_glue_up_holds_every_combination_as_often_in_orders_of_its_own(plan) -> None:
    orders = []
    for glue_up in plan.glue_ups:
        counts = Counter(specimen.combination for specimen in glue_up.specimens)
        assert set(counts.values()) == {plan.specimens_each // 2}
        assert len(counts) == 4
        size = len(glue_up.specimens)
        assert sorted(specimen.tested_as for specimen in glue_up.specimens) == list(range(1, size + 1))
        assert [specimen.glued_as for specimen in glue_up.specimens] == list(range(1, size + 1))
        orders.append([str(specimen.combination) for specimen in glue_up.in_test_order()])
    assert orders[0] != orders[1]
    assert orders[0] != sorted(orders[0])


def test_the_order_is_drawn_by_lot_and_the_numbers_are_not(combinations) -> None:
    one, other = (plan_tests(combinations, wish=WISH, terms=TERMS, rng=np.random.default_rng(seed)) for seed in (1, 2))
    assert one.specimens_each == other.specimens_each
    assert one.curve == other.curve
    assert [s.combination for s in one.specimens] != [s.combination for s in other.specimens]


def test_dates_follow_the_days_between_and_the_cure(plan) -> None:
    assert [(g.glued_on, g.tested_on) for g in plan.glue_ups] == [
        ("2026-03-02", "2026-03-09"),
        ("2026-03-05", "2026-03-12"),
    ]


def test_a_wish_out_of_reach_says_so(combinations) -> None:
    wish = ShowStrength(3.5, expected_mpa=4.0, log_sd=0.2)
    got = plan_tests(combinations[:1], wish=wish, terms=TERMS, rng=np.random.default_rng(1))
    assert got.chance < 0.1
    assert [finding.code for finding in got.findings] == [FindingCode.PLAN_SHORT]
    assert got.specimens_each == 24


def test_the_shop_can_set_the_number_itself(combinations) -> None:
    got = plan_tests(combinations, wish=WISH, terms=replace(TERMS, each=6), rng=np.random.default_rng(1))
    assert got.specimens_each == 12
    assert got.chance == next(point.chance for point in got.curve if point.specimens == 12)


def test_one_glue_up_is_warned_of(combinations) -> None:
    got = plan_tests(combinations, wish=WISH, terms=replace(TERMS, glue_ups=1), rng=np.random.default_rng(1))
    assert FindingCode.ONE_BATCH in [finding.code for finding in got.findings]


def test_the_control_stands_first(combinations) -> None:
    got = plan_tests(combinations, wish=WISH, terms=TERMS, control=combinations[2], rng=np.random.default_rng(1))
    assert got.combinations[0] == combinations[2]
    assert len(got.combinations) == 4


def test_all_problems_are_told_at_once(combinations) -> None:
    with pytest.raises(InputError) as caught:
        plan_tests(
            [combinations[0], combinations[0]],
            wish=SeeDifference(0.9, expected_mpa=-1.0),
            terms=Terms("Spring", "2 March", glue_ups=0, each=40),
            control=Combination("hide", "oak"),
            rng=np.random.default_rng(1),
        )
    columns = [problem.column for problem in caught.value.problems]
    assert columns == ["combinations", "control", "ratio", "expected_mpa", "glue_ups", "each", "glued_from"]
