import math

import numpy as np

from jointlab.strength import StrengthSample
from jointlab.strength.replay import Replay


def sample_of(lower, upper, *, cap=None, step=None) -> StrengthSample:
    n = len(lower)
    plain = StrengthSample.of_intervals(lower, upper)
    return StrengthSample(
        lower_mpa=plain.lower_mpa,
        upper_mpa=plain.upper_mpa,
        batch=plain.batch,
        batch_names=plain.batch_names,
        cap_mpa=np.full(n, math.inf) if cap is None else np.array(cap),
        load_step_mpa=np.zeros(n) if step is None else np.array(step),
        handled=np.zeros(n, np.bool_),
    )


def test_a_complete_sample_is_recorded_as_it_is() -> None:
    lower, upper = Replay.of(sample_of([2.0, 3.0], [2.0, 3.0])).recorded(np.array([[1.0, 7.5]]))
    assert lower.tolist() == upper.tolist() == [[1.0, 7.5]]


def test_a_recorded_cap_holds_what_is_stronger() -> None:
    replay = Replay.of(sample_of([2.0, 3.0], [2.0, 3.0], cap=[5.0, 5.0]))
    lower, upper = replay.recorded(np.array([[1.0, 7.5], [6.0, 5.0]]))
    assert lower.tolist() == [[1.0, 5.0], [5.0, 5.0]]
    assert upper.tolist() == [[1.0, math.inf], [math.inf, 5.0]]


def test_without_a_recorded_cap_the_next_load_held_stands_for_it() -> None:
    replay = Replay.of(sample_of([2.0, 4.0, 5.0, 6.0], [2.0, math.inf, 5.0, 6.0]))
    assert replay.cap_mpa.tolist() == [4.0, 4.0, math.inf, math.inf]


def test_steps_are_replayed_on_their_own_grid() -> None:
    replay = Replay.of(sample_of([2.0, 3.0], [2.5, 3.5]))
    lower, upper = replay.recorded(np.array([[0.2, 4.1], [2.5, 3.0]]))
    assert lower.tolist() == [[-math.inf, 4.0], [2.0, 2.5]]
    assert upper.tolist() == [[0.5, 4.5], [2.5, 3.0]]


def test_a_held_pull_steps_as_recorded_or_as_the_others_did() -> None:
    assert Replay.of(sample_of([2.0, 3.0], [2.5, math.inf])).step_mpa.tolist() == [0.5, 0.5]
    assert Replay.of(sample_of([2.0, 3.0], [2.5, math.inf], step=[0.5, 0.25])).step_mpa.tolist() == [0.5, 0.25]
    assert Replay.of(sample_of([2.0, 3.0], [2.0, math.inf])).step_mpa.tolist() == [0.0, 0.0]


def test_what_breaks_below_the_handled_load_is_known_to_lie_there() -> None:
    replay = Replay.of(sample_of([0.0, 3.0], [1.0, 3.0]))
    lower, upper = replay.recorded(np.array([[0.4, 0.7], [1.2, 3.3]]))
    assert lower.tolist() == [[-math.inf, -math.inf], [1.2, 3.3]]
    assert upper.tolist() == [[1.0, 1.0], [1.2, 3.3]]


def test_the_pattern_knows_kinds_and_batches_but_neither_values_nor_order() -> None:
    one = Replay.of(sample_of([2.0, 4.0, 1.0], [2.0, math.inf, 1.0]))
    other = Replay.of(sample_of([9.0, 3.0, 5.0], [math.inf, 3.0, 5.0]))
    assert one.pattern == other.pattern
    assert one.pattern != Replay.of(sample_of([2.0, 4.0, 1.0], [2.0, 4.0, 1.0])).pattern


def test_the_kinds_of_censoring_are_counted_from_what_the_pulls_can_meet() -> None:
    # glue-ups first, then for each pull: 1 a cap, 2 a step, 4 the hand
    assert Replay.of(sample_of([2.0, 3.0], [2.0, 3.0])).pattern == (1, 0, 0)
    assert Replay.of(sample_of([2.0, 3.0], [2.0, 3.0], cap=[5.0, 5.0])).pattern == (1, 1, 1)
    assert Replay.of(sample_of([2.0, 3.0], [2.5, 3.5], cap=[5.0, 5.0], step=[0.5, 0.5])).pattern == (1, 3, 3)
    assert Replay.of(sample_of([0.0, 3.0], [0.5, 3.0])).pattern == (1, 4, 4)
