"""A sample is what its pulls say, number by number."""

from __future__ import annotations

import numpy as np

from jointlab.strength import StrengthSample
from jointlab.stress.joint_stress import JointStress


def test_a_sample_takes_from_each_pull_what_it_states_and_the_usual_where_it_states_nothing() -> None:
    sample = StrengthSample.of_stresses(
        [
            JointStress("B", "1", 3.0, 3.0, 0.05),
            JointStress("A", "2", 0.0, 0.4, 0.05, handled=True),
            JointStress("B", "3", 4.0, None, 0.05, cap_mpa=4.0, load_step_mpa=0.5),
            JointStress("C", "4", 9.0, 9.0, 0.05, carries_information=False),
        ]
    )
    assert (sample.n, sample.batches, sample.batch_names) == (3, 2, ("B", "A"))
    assert sample.batch.tolist() == [0, 1, 0]
    assert sample.handled.tolist() == [False, True, False]
    assert sample.exact.tolist() == [True, False, False]
    assert sample.held.tolist() == [False, False, True]
    assert sample.cap_mpa.tolist() == [np.inf, np.inf, 4.0]
    assert sample.load_step_mpa.tolist() == [0.0, 0.0, 0.5]
    assert not sample.complete


def test_glue_ups_of_plain_numbers_are_named_in_order_and_a_sample_may_be_empty() -> None:
    assert StrengthSample.of_values([3.0, 4.0, 5.0], batch=[7, 2, 7]).batch_names == ("batch 1", "batch 2")
    assert StrengthSample.of_values([3.0, 4.0, 5.0], batch=[7, 2, 7]).batch.tolist() == [1, 0, 1]
    assert StrengthSample.of_values([3.0]).batch_names == ("batch 1",)
    empty = StrengthSample.of_values([])
    assert (empty.n, empty.batches, empty.batch_names) == (0, 0, ())
