"""A plan for four combinations."""

import numpy as np
import pytest

from jointlab.plan import SeeDifference, Terms, TestPlan, plan_tests
from jointlab.record.joint import Combination

COMBINATIONS = [Combination(glue, wood) for glue in ("yellow", "epoxy") for wood in ("maple", "plywood")]


@pytest.fixture
def combinations() -> list[Combination]:
    return COMBINATIONS


@pytest.fixture
def plan() -> TestPlan:
    """See a difference of a half at a spread of 20 %, two looks."""
    return plan_tests(
        COMBINATIONS,
        wish=SeeDifference(1.5, expected_mpa=4.0, log_sd=0.2),
        terms=Terms("Spring", "2026-03-02", days_between=3, planned_looks=2),
        rng=np.random.default_rng(1),
    )
