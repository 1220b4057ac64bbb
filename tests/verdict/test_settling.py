"""Whether further pulls bring the working bound to what a mount needs."""

from __future__ import annotations

import numpy as np
import pytest

from jointlab.strength.likelihood_ratio import PREVIEW_REPLICATES
from jointlab.strength.replay import Replay
from jointlab.strength.sample import StrengthSample
from jointlab.strength.working import lower_bound
from jointlab.verdict.settling import share_settled

SEEN = np.array([4.1, 4.6, 3.6, 5.3, 4.9, 4.4, 3.9, 4.8])
BATCH = np.array([0, 1] * 4)
NEW_BATCH = np.array([0, 1] * 5)
LEVEL = {"coverage": 0.95, "confidence": 0.95}


def futures(count):
    return np.exp(np.log(4.5) + 0.17 * np.random.default_rng(8).standard_normal((count, 10)))


def on_rig(strengths, batch, *, cap, step):
    """The sample that such strengths make on a rig of this limit and step."""
    caps, steps, none = np.full(strengths.size, cap), np.full(strengths.size, step), np.zeros(strengths.size)
    lower, upper = Replay(caps, steps, none, none, batch).recorded(strengths[None])
    names = tuple(str(number) for number in range(int(batch.max()) + 1))
    return StrengthSample(lower[0], upper[0], batch, names, caps, steps, np.zeros(strengths.size, bool))


def test_the_share_is_that_of_futures_whose_bound_reaches():
    sample, new = StrengthSample.of_values(SEEN, batch=BATCH), futures(60)
    both = np.concatenate([BATCH, 2 + NEW_BATCH])
    bounds = [lower_bound(StrengthSample.of_values([*SEEN, *row], batch=both), **LEVEL).bound_mpa for row in new]
    for needed in np.quantile(bounds, [0.2, 0.5, 0.9]):
        share = share_settled(sample, new, NEW_BATCH, needed_mpa=float(needed), **LEVEL)
        assert share == pytest.approx(np.mean(np.array(bounds) >= needed), abs=1e-9)


@pytest.mark.parametrize(("cap", "step"), [(5.0, 0.0), (9.0, 0.4)])
def test_the_quick_answer_of_recorded_pulls_is_that_of_the_bound_itself(cap, step):
    sample, new = on_rig(SEEN, BATCH, cap=cap, step=step), futures(12)
    both = np.concatenate([BATCH, 2 + NEW_BATCH])
    seen = [on_rig(np.array([*SEEN, *row]), both, cap=cap, step=step) for row in new]
    bounds = [lower_bound(each, replicates=PREVIEW_REPLICATES, **LEVEL).bound_mpa for each in seen]
    needed = float(np.sort(bounds)[5:7].mean())
    share = share_settled(sample, new, NEW_BATCH, needed_mpa=needed, **LEVEL)
    # bounds within a few percent of what is needed may fall on either side: their root has its own Monte Carlo error
    assert share == pytest.approx(0.5, abs=2.1 / 12)


def test_futures_of_which_more_than_half_would_hold_settle_nothing():
    sample = on_rig(SEEN, BATCH, cap=4.45, step=0.0)
    assert share_settled(sample, np.full((5, 10), 9.0), NEW_BATCH, needed_mpa=0.1, **LEVEL) == 0.0
