"""The figure of a plan's chance."""

import numpy as np
import pytest

from jointlab.plan import SeeDifference, ShowStrength, Terms, plan_tests
from jointlab.publish.drawing import BLUE, RUST, ImageForm
from jointlab.publish.power_figure import power_figure
from jointlab.record.joint import Combination

TERMS = Terms("Spring", "2026-03-02")
COMBINATIONS = [Combination("pva", "maple"), Combination("epoxy", "maple")]


@pytest.mark.parametrize(
    "wish", [SeeDifference(1.4, expected_mpa=4.0, log_sd=0.2), ShowStrength(1.5, expected_mpa=4.0, log_sd=0.2)]
)
def test_curve_and_plan_are_drawn_and_the_bytes_are_the_same_each_time(wish) -> None:
    plan = plan_tests(COMBINATIONS, wish=wish, terms=TERMS, rng=np.random.default_rng(1))
    drawing = power_figure(plan)
    assert drawing == power_figure(plan)
    for colour in (BLUE, RUST):
        assert colour.encode() in drawing
    assert power_figure(plan, form=ImageForm.PNG).startswith(b"\x89PNG")
