import math

import numpy as np
import pytest

from jointlab.strength import Family
from jointlab.strength.guessed_root import features_of, guessed_roots
from jointlab.strength.likelihood import Samples
from jointlab.strength.signed_root import Model, signed_roots, tops_of
from jointlab.strength.working import ON_LOGS

MODELS = [Model.of(Family.LOGNORMAL), Model.of(Family.WEIBULL), ON_LOGS]


def recorded(model: Model, runs: int) -> tuple[Samples, np.ndarray]:
    batch = np.arange(10) % 2 if model.ratio else np.zeros(10, np.int64)
    x = model.draws(np.random.default_rng(3), batch, runs)
    held = x > 0.5
    return Samples(np.minimum(x, 0.5), np.where(held, math.inf, x), np.ones_like(x)), batch


@pytest.mark.parametrize("model", MODELS)
def test_roots_of_samples_that_were_not_solved_are_guessed_near_the_root_in_question(model: Model) -> None:
    share = model.percentile(0.95)
    samples, batch = recorded(model, 1200)
    tops = tops_of(samples, batch, model, share=share)
    roots = signed_roots(samples, batch, model, tops, point=share, share=share).root
    features = features_of(samples, batch, model, share=share)
    guessed = guessed_roots(features, roots[:600], np.ones(1200), root=1.0)
    close = np.abs(roots[600:] - 1.0) < 0.5
    away = guessed[600:][close] - roots[600:][close]
    assert close.sum() > 80
    assert math.sqrt(np.median(away**2)) < 0.12


def test_a_root_has_no_part_in_its_own_guess() -> None:
    features = np.column_stack([np.ones(8), np.arange(8.0)])
    solved = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7])
    turned = solved.copy()
    turned[2] = 3.0
    before, after = (guessed_roots(features, each, np.ones(8), root=0.4) for each in (solved, turned))
    assert after[2] == before[2]
    assert after[3] != pytest.approx(before[3], abs=1e-3)


def test_a_root_that_was_not_found_is_left_out() -> None:
    features = np.column_stack([np.ones(8), np.arange(8.0)])
    solved = np.where(np.arange(8) == 5, math.nan, 0.1 * np.arange(8))
    assert guessed_roots(features, solved, np.ones(8), root=0.4) == pytest.approx(0.1 * np.arange(8), abs=1e-6)


def test_every_kind_of_censoring_has_features() -> None:
    lower = np.array([[-math.inf, 0.2, 0.5, -1.0], [-1.0, 0.0, 0.5, 0.1]])
    upper = np.array([[-1.5, 0.2, math.inf, -0.5], [-0.5, 0.5, math.inf, 0.1]])
    for model in MODELS:
        features = features_of(Samples(lower, upper, np.ones((2, 4))), np.array([0, 0, 1, 1]), model, share=-1.6)
        assert np.isfinite(features).all()
        assert not np.array_equal(features[0], features[1])
