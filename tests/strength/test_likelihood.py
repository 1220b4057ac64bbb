"""Samples whose likelihood has no maximum, and why."""

from __future__ import annotations

import math

import numpy as np
import pytest

from jointlab.strength.likelihood import Ill, Samples, ill_cases


def case_of(lower: list[float], upper: list[float], weight: list[float] | None = None) -> Ill | None:
    heavy = np.ones((1, len(lower))) if weight is None else np.array([weight])
    return ill_cases(Samples(np.array([lower]), np.array([upper]), heavy))[0]


@pytest.mark.parametrize(
    ("lower", "upper", "case"),
    [
        ([3.0, 3.0], [3.0, 3.0], Ill.IDENTICAL),
        ([3.0, 3.0 * (1.0 + 2e-15)], [3.0, 3.0 * (1.0 + 2e-15)], Ill.NO_SPREAD),
        ([2.0, 2.0, 2.0], [3.0, 3.0, 3.0], Ill.ONE_STEP),
        ([2.0, 2.5], [3.0, 3.0], Ill.NO_SPREAD),
        ([2.0, 2.0], [3.0, 3.5], Ill.NO_SPREAD),
        ([1.0, 2.0, 2.0], [2.0, 3.0, 3.0], Ill.TWO_STEPS),
        ([1.0, 2.0], [2.0, 2.0], Ill.NO_SPREAD),
        ([2.0, 3.0], [math.inf, math.inf], Ill.NO_BREAK),
        ([-math.inf, -math.inf], [2.0, 3.0], Ill.ALL_HANDLED),
        ([1.0, 2.0, 3.5], [2.0, 3.0, 4.0], None),
        ([3.0, 3.1], [3.0, 3.1], None),
    ],
)
def test_pulls_that_one_strength_would_explain_are_told_apart(lower, upper, case) -> None:
    assert case_of(lower, upper) is case


def test_a_pull_that_weighs_nothing_is_not_there() -> None:
    assert case_of([3.0, 3.0, 9.0], [3.0, 3.0, 9.0], [1.0, 1.0, 0.0]) is Ill.IDENTICAL
