import numpy as np
import pytest

from jointlab.strength.sample import StrengthSample
from jointlab.strength.turnbull import plotting_positions, step_distribution_of


def test_interval_data_give_the_masses_of_fay_and_shaw():
    # Fay & Shaw, J. Stat. Softw. 36(2) 2010, Table 2 (read): masses 2/7, 2/7, 3/14, 3/14
    ends = [(2, 3), (5, 6), (1, 7), (1, 7), (9, 12), (8, 10), (10, 13)]
    steps = step_distribution_of(StrengthSample.of_intervals([a for a, _ in ends], [b for _, b in ends]))
    assert list(zip(steps.lower_mpa, steps.upper_mpa, strict=True)) == [(2, 3), (5, 6), (9, 10), (10, 12)]
    assert steps.mass == pytest.approx([2 / 7, 2 / 7, 3 / 14, 3 / 14], abs=1e-6)


def test_doubly_censored_data_give_the_survival_of_turnbull():
    # Turnbull, JASA 69 (1974) 169 (read): exact 12 6 2 3, right 3 2 0 3, left 2 4 2 5 at 1..4; S = .538 .295 .210 .095
    lower, upper = [], []
    for time, exact, right, left in zip((1, 2, 3, 4), (12, 6, 2, 3), (3, 2, 0, 3), (2, 4, 2, 5), strict=True):
        lower += [time] * (exact + right) + [0] * left
        upper += [time] * exact + [np.inf] * right + [time] * left
    steps = step_distribution_of(StrengthSample.of_intervals(lower, upper))
    survival = [1 - steps.mass[steps.upper_mpa <= time].sum() for time in (1, 2, 3, 4)]
    assert survival == pytest.approx([0.538, 0.295, 0.210, 0.095], abs=6e-4)


def test_right_censored_data_give_the_survival_of_kaplan_and_meier():
    # AML, maintained group (Miller; read): S = .909 .818 .716 .614 .491 .368 .184 at the seven events
    events = [9, 13, 18, 23, 31, 34, 48]
    held = [13, 28, 45, 161]
    lower, upper = events + held, [*events, *[np.inf] * len(held)]
    steps = step_distribution_of(StrengthSample.of_intervals(lower, upper))
    survival = [1 - steps.mass[steps.upper_mpa <= event].sum() for event in events]
    assert survival == pytest.approx([0.909, 0.818, 0.716, 0.614, 0.491, 0.368, 0.184], abs=6e-4)


def test_a_complete_sample_is_plotted_in_the_middle_of_its_steps():
    positions = plotting_positions(StrengthSample.of_values([3.0, 1.0, 2.0, 4.0]))
    assert positions == pytest.approx([0.625, 0.125, 0.375, 0.875], abs=1e-9)


def test_a_pull_that_held_has_no_position():
    positions = plotting_positions(StrengthSample.of_intervals([1.0, 2.0], [1.0, np.inf]))
    assert positions[0] == pytest.approx(0.25, abs=1e-9)
    assert positions[1] is None


def test_a_step_is_plotted_in_the_middle_of_its_mass():
    positions = plotting_positions(StrengthSample.of_intervals([0.0, 1.0, 2.0], [1.0, 2.0, 3.0]))
    assert positions == pytest.approx([1 / 6, 3 / 6, 5 / 6], abs=1e-9)


def test_a_break_at_the_very_end_of_another_pulls_interval_may_be_the_same_strength():
    # (2, 5] holds 5 itself, [5, ...) begins with it: all of the mass can lie at 5; a pull that held 5 is stronger
    steps = step_distribution_of(StrengthSample.of_intervals([2.0, 5.0], [5.0, 5.0]))
    assert (steps.lower_mpa.tolist(), steps.upper_mpa.tolist(), steps.mass.tolist()) == ([5.0], [5.0], [1.0])
    held = step_distribution_of(StrengthSample.of_intervals([5.0, 5.0], [5.0, np.inf]))
    assert held.upper_mpa.tolist() == [5.0, np.inf]
    assert held.mass == pytest.approx([0.5, 0.5])
