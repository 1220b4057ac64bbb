import numpy as np
import pytest

from jointlab.strength import Family, StrengthSample
from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE
from jointlab.strength.likelihood import Likelihood, Samples
from jointlab.strength.likelihood_ratio import calibrated_bound
from jointlab.strength.repeats import distinct, tied_within
from jointlab.strength.signed_root import Model
from jointlab.strength.working import ON_LOGS


def stepped(rows: int, *, n: int = 6, step: float = 1.0) -> Samples:
    x = np.floor(np.random.default_rng(7).normal(size=(rows, n)) / step) * step
    return Samples(x, x + step, np.ones((rows, n)))


def height(samples: Samples) -> np.ndarray:
    rows = len(samples.lower)
    return Likelihood.of(samples, SMALLEST_EXTREME_VALUE).sums(np.full(rows, 0.9), np.full(rows, 0.2)).log


def test_samples_of_load_steps_are_solved_once_and_mean_the_same() -> None:
    samples = stepped(2000)
    fewer, which = distinct(samples)
    assert len(fewer.lower) < 700
    assert np.abs(height(fewer)[which] - height(samples)).max() < 1e-12


def test_the_order_of_the_strengths_does_not_make_another_sample() -> None:
    one = np.array([0.0, 1.0, 1.0, 3.0])
    lower = np.array([one, one[::-1], one[[2, 0, 3, 1]]])
    fewer, which = distinct(Samples(lower, lower + 1.0, np.ones((3, 4))))
    assert len(fewer.lower) == 1
    assert which.tolist() == [0, 0, 0]
    assert sorted(fewer.weight[0].tolist()) == [0.0, 1.0, 1.0, 2.0]


def test_samples_half_of_whose_strengths_are_steps_are_solved_once_too() -> None:
    lower, upper = np.array([[0.5, 2.0, 3.0, 4.5]]), np.array([[0.5, 3.0, 4.0, 4.5]])
    order = [[0, 1, 2, 3], [3, 1, 0, 2]]
    fewer, which = distinct(Samples(lower[0][order], upper[0][order], np.ones((2, 4))))
    assert fewer.lower.shape == (1, 4)
    assert which.tolist() == [0, 0]


def test_exact_strengths_come_back_as_they_are() -> None:
    x = np.random.default_rng(1).normal(size=(50, 4))
    samples = Samples(x, x, np.ones_like(x))
    assert distinct(samples)[0] is samples
    assert tied_within(samples, np.zeros(4, np.int64)) is samples


def test_ties_of_different_glue_ups_stay_apart() -> None:
    lower = np.array([[0.0, 0.0, 0.0, 1.0]])
    merged = tied_within(Samples(lower, lower + 1.0, np.ones((1, 4))), np.array([0, 0, 1, 1]))
    assert sorted(merged.weight[0, :2].tolist()) == [0.0, 2.0]
    assert merged.weight[0, 2:].tolist() == [1.0, 1.0]


@pytest.mark.parametrize("model", [ON_LOGS, Model.of(Family.LOGNORMAL)])
def test_a_bound_does_not_hang_on_counting_repeats_once(monkeypatch: pytest.MonkeyPatch, model: Model) -> None:
    # six pulls in three steps repeat each other often; under a model of glue-ups a strength must stay in its own
    lower = np.array([3.0, 3.0, 3.5, 3.5, 4.0, 4.0])
    sample = StrengthSample.of_intervals(lower, lower + 0.5, batch=[0, 0, 0, 1, 1, 1])
    asked = {"coverage": 0.95, "confidence": 0.95, "replicates": 200}
    merged = calibrated_bound(sample, model, **asked)
    monkeypatch.setattr(
        "jointlab.strength.likelihood_ratio.distinct", lambda samples: (samples, np.arange(len(samples.lower)))
    )
    monkeypatch.setattr("jointlab.strength.likelihood_ratio.tied_within", lambda samples, _batch: samples)
    one_by_one = calibrated_bound(sample, model, **asked)
    assert merged is not None
    assert one_by_one is not None
    assert merged.bound_mpa == pytest.approx(one_by_one.bound_mpa, rel=1e-9)
