import math

import numpy as np
import pytest

from jointlab.strength import Family
from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE, STANDARD_NORMAL
from jointlab.strength.known_ratio import batch_sizes, weights_of
from jointlab.strength.likelihood import Samples
from jointlab.strength.signed_root import Model, signed_roots, tops_of
from jointlab.strength.tilted import PARTS, draws_towards, least_squares, tilt
from jointlab.strength.working import ON_LOGS

NORMAL, EXTREME = Model.of(Family.LOGNORMAL), Model.of(Family.WEIBULL)


def batches_of(model: Model, n: int) -> np.ndarray:
    return np.arange(n) % 2 if model.ratio else np.zeros(n, np.int64)


@pytest.mark.parametrize("model", [NORMAL, EXTREME, ON_LOGS])
@pytest.mark.parametrize("root", [1.5, 2.5, -1.5])
def test_weights_undo_the_tilt_so_that_known_means_come_out(model: Model, root: float) -> None:
    batch, share = batches_of(model, 8), model.percentile(0.95)
    draws = draws_towards(model, np.random.default_rng(1), batch, runs=20_000, share=share, root=root)
    error = draws.controls.std(axis=0) / math.sqrt(20_000)
    assert np.all(np.abs(draws.controls.mean(axis=0)) < 4.0 * error)
    assert 0.98 < draws.weight.mean() < 1.02
    assert draws.weight.max() <= 1.0 / PARTS[0][1] + 1e-9
    mean = float((draws.weight * draws.standard.mean(axis=1)).mean())
    assert mean == pytest.approx(0.0 if model is not EXTREME else -0.5772, abs=0.03)


@pytest.mark.parametrize("model", [NORMAL, EXTREME])
def test_a_tilted_population_has_the_root_that_was_asked_for(model: Model) -> None:
    # A large sample of quantiles of the tilted population stands for it: its root per pull times that of n pulls.
    n, many, root = 10, 4000, 1.8
    place, scale = tilt(model.kernel, n, float(n), model.percentile(0.95), root)
    assert 0.0 < place < 1.0
    assert 0.3 < scale < 1.0
    chance = (np.arange(many) + 0.5) / many
    if model.kernel is STANDARD_NORMAL:
        from scipy.special import ndtri

        standard = ndtri(chance)
    else:
        standard = np.log(-np.log1p(-chance))
    x = (place + scale * standard)[None]
    samples, batch = Samples(x, x, np.full_like(x, n / many)), np.zeros(many, np.int64)
    share = model.percentile(0.95)
    tops = tops_of(samples, batch, model, share=share)
    got = float(signed_roots(samples, batch, model, tops, point=share, share=share).root[0])
    assert got == pytest.approx(root, rel=0.01)


@pytest.mark.parametrize(("model", "root"), [(NORMAL, 1.5), (NORMAL, -1.0), (EXTREME, 2.0), (ON_LOGS, 1.5)])
def test_the_chance_of_a_tail_is_as_plain_draws_say_and_better_known(model: Model, root: float) -> None:
    batch, share, seen, runs = batches_of(model, 6), model.percentile(0.95), 1000, 6000

    def roots_of(x: np.ndarray) -> np.ndarray:
        samples = Samples(x, x, np.ones_like(x))
        tops = tops_of(samples, batch, model, share=share)
        return signed_roots(samples, batch, model, tops, point=share, share=share).root

    def beyond(roots: np.ndarray) -> np.ndarray:
        return roots >= root if root > 0.0 else roots <= root

    plain = beyond(roots_of(model.draws(np.random.default_rng(5), batch, 20_000))).mean()
    draws = draws_towards(model, np.random.default_rng(6), batch, runs=runs, share=share, root=root)
    event = beyond(roots_of(draws.standard[:seen]))
    guess = (draws.standard.mean(axis=1) > np.median(draws.standard))[:, None]
    chance, error = draws.chance_of(event, guess)
    both = math.hypot(error, math.sqrt(plain * (1.0 - plain) / 20_000))
    assert abs(chance - plain) < 4.0 * both
    assert error < 0.6 * math.sqrt(plain * (1.0 - plain) / seen)


def test_no_tilt_stands_for_a_root_of_zero() -> None:
    for kernel in (STANDARD_NORMAL, SMALLEST_EXTREME_VALUE):
        assert tilt(kernel, 10, 10.0, -1.645, 0.0) == (0.0, 1.0)


def test_the_weak_lie_lower_and_scatter_more() -> None:
    total = weights_of(batch_sizes(batches_of(ON_LOGS, 10)), 1.0)[1]
    for kernel, share, weight in ((STANDARD_NORMAL, -1.645, 10.0), (STANDARD_NORMAL, -2.33, total)):
        place, scale = tilt(kernel, 10, weight, share, -1.5)
        assert place < 0.0
        assert scale > 1.0
    place, scale = tilt(SMALLEST_EXTREME_VALUE, 10, 10.0, -2.97, -1.5)
    assert place < 0.0
    assert scale > 1.0


def test_columns_that_repeat_each_other_still_have_slopes() -> None:
    x = np.arange(6.0)
    got = least_squares(np.column_stack([x, x, np.ones(6)]), 3.0 * x + 1.0)
    assert got[0] + got[1] == pytest.approx(3.0, abs=1e-6)
    assert got[2] == pytest.approx(1.0, abs=1e-6)
