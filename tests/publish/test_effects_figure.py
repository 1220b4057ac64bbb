"""The figure of effects."""

from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare import CombinationSample, compare_combinations
from jointlab.compare.values import Estimate
from jointlab.publish.drawing import BLUE, RUST, ImageForm
from jointlab.publish.effects_figure import MOST_EFFECTS, effects_figure
from jointlab.record.joint import Combination
from jointlab.record.vocabulary import Action
from jointlab.strength import StrengthSample


def sample(name, level, count=8):
    rng = np.random.default_rng(round(100 * level))
    drawn = StrengthSample.of_values(level * np.exp(0.15 * rng.standard_normal(count)), batch=range(count))
    return CombinationSample(
        Combination("glue", name), replace(drawn, batch_names=tuple(f"{name}{k}" for k in range(count)))
    )


@pytest.fixture(scope="module")
def comparison():
    return compare_combinations([sample("maple", 4.0), sample("mdf", 1.5), sample("ash", 3.9)])


def test_what_is_shown_and_what_is_not_are_drawn_apart(comparison) -> None:
    drawing = effects_figure([(Action.PRY, comparison)])
    assert drawing == effects_figure([(Action.PRY, comparison)])
    assert BLUE.encode() in drawing
    assert RUST.encode() not in drawing  # of every pair the stronger is named first
    against = compare_combinations([sample("maple", 4.0), sample("mdf", 1.5)], control=Combination("glue", "maple"))
    assert RUST.encode() in effects_figure([(Action.PRY, against)])
    assert effects_figure([(Action.PRY, comparison)], form=ImageForm.PNG).startswith(b"\x89PNG")


def test_an_open_interval_and_a_ratio_beyond_the_scale_are_drawn(comparison) -> None:
    first = comparison.effects[0]
    far = replace(comparison, effects=(replace(first, ratio=Estimate(500.0, None, None)), *comparison.effects[1:]))
    assert len(effects_figure([(Action.PRY, far)])) > 1000


def test_a_large_family_is_cut_and_the_cut_is_told(comparison) -> None:
    many = replace(comparison, effects=comparison.effects * 20)
    whole = replace(comparison, effects=(comparison.effects * 20)[:MOST_EFFECTS])
    assert effects_figure([(Action.PRY, many)]) != effects_figure([(Action.PRY, whole)])
    twice = effects_figure([(Action.PRY, whole), (Action.PULL, comparison)])
    assert twice.count(b"<svg") == 1
