"""Censored comparisons: agreement with complete ones, replayed limits, glue-ups, ill cases."""

import math
from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare.censored import ENOUGH_BREAKS, drawn_errors, estimates_of_censored, replayed
from jointlab.compare.layout import Layout
from jointlab.errors import AnalysisError
from jointlab.strength.values import Family


def estimated(parts, family, model: Family = Family.LOGNORMAL, ratio: float = 1.0, replicates: int = 300):
    rng = np.random.default_rng(1)
    layout = Layout.of(parts)
    return estimates_of_censored(layout, model=model, family=family, ratio=ratio, replicates=replicates, rng=rng)


def test_complete_lognormal_strengths_have_their_means(drawn) -> None:
    parts = drawn([1.0, 1.5], 8)
    got = estimated(parts, [(0, 1)])
    logs = [np.log(part.sample.lower_mpa) for part in parts]
    assert got.log_median == pytest.approx([x.mean() for x in logs], rel=1e-8)
    error = math.sqrt(sum(x.var() / x.size for x in logs))
    assert got.errors[0] == pytest.approx(error, rel=1e-6)
    # The median of chi-square with 7 degrees of freedom is 6.346: the scale of eight joints is low by sqrt(6.346 / 8).
    assert got.log_sd == pytest.approx([x.std() / math.sqrt(6.346 / 8) for x in logs], rel=0.03)


def test_few_breaks_share_one_scale(sample_of) -> None:
    assert ENOUGH_BREAKS == 4
    few = sample_of("maple", [4.0, 4.4, 5.0, 5.0], held=[False, False, True, True])
    more = sample_of("mdf", [1.0, 1.4, 0.9, 1.2])
    got = estimated([few, more], [(0, 1)])
    assert got.log_sd[0] == got.log_sd[1]
    own = estimated([sample_of("maple", [4.0, 4.4, 5.0, 4.8]), more], [(0, 1)])
    assert own.log_sd[0] != own.log_sd[1]


def test_the_weibull_median_is_that_of_its_fit(drawn) -> None:
    from jointlab.strength import fit

    parts = drawn([1.0, 1.5], 8)
    got = estimated(parts, [(0, 1)], model=Family.WEIBULL)
    named = dict(fit(parts[1].sample, family=Family.WEIBULL).parameters)
    assert math.exp(got.log_median[1]) == pytest.approx(
        named["scale_mpa"] * math.log(2.0) ** (1 / named["shape"]), rel=1e-5
    )
    low = named["scale_mpa"] * (-math.log(0.95)) ** (1 / named["shape"])
    assert 0.93 * low < math.exp(got.log_low[1]) < low  # the scale of few joints is low, and is corrected


def test_substrates_in_the_same_glue_ups_are_surer_than_glues_in_others(sample_of) -> None:
    days = ["A", "A", "A", "B", "B", "B"]
    maple = sample_of("maple", [2.0, 2.2, 2.1, 2.6, 2.5, 2.4], glue_ups=days)
    mdf = sample_of("mdf", [1.0, 1.1, 1.05, 1.3, 1.25, 1.2], glue_ups=days)
    other = sample_of("mdf", [1.0, 1.1, 1.05, 1.3, 1.25, 1.2], glue_ups=["C"] * 3 + ["D"] * 3, glue="epoxy")
    got = estimated([maple, mdf, other], [(0, 1), (0, 2)])
    # With r = 1, means of two glue-ups of three: 2/6 against 2/6 + 1 in squares of the spread.
    assert got.errors[1] / got.errors[0] == pytest.approx(2.0, rel=0.05)


def test_replayed_strengths_hold_at_their_limit_and_fall_between_their_steps(sample_of) -> None:
    part = sample_of("maple", [4.0, 5.0, 4.2, 3.0], held=[False, True, False, False])
    sample = replace(
        part.sample,
        upper_mpa=np.array([4.0, math.inf, 4.4, 3.0]),
        load_step_mpa=np.array([0.0, 0.0, 0.2, 0.0]),
        cap_mpa=np.array([4.5, math.inf, 4.6, 4.5]),
    )
    layout = Layout.of([replace(part, sample=sample)])
    assert np.exp(layout.limit) == pytest.approx([4.5, 5.0, 4.6, 4.5])
    lower, upper = replayed(np.log(np.array([[4.1, 4.9, 4.1, 4.4], [4.6, 5.1, 4.7, 4.6]])), layout)
    assert np.exp(lower[0]) == pytest.approx([4.1, 4.9, 4.0, 4.4])
    assert np.exp(upper[0]) == pytest.approx([4.1, 4.9, 4.2, 4.4])
    assert np.exp(lower[1]) == pytest.approx([4.5, 5.0, 4.6, 4.5])
    assert np.isinf(upper[1]).all()


def test_a_joint_handled_to_pieces_is_replayed_as_such(sample_of) -> None:
    part = sample_of("mdf", [0.2, 1.0, 1.1])
    sample = replace(part.sample, lower_mpa=np.array([0.0, 1.0, 1.1]))
    layout = Layout.of([replace(part, sample=sample)])
    lower, upper = replayed(np.log(np.array([[0.1, 0.1, 1.0], [0.3, 1.0, 1.0]])), layout)
    assert np.isneginf(lower[0, 0])
    assert math.exp(upper[0, 0]) == pytest.approx(0.2)
    assert math.exp(lower[0, 1]) == pytest.approx(0.1)
    assert math.exp(lower[1, 0]) == pytest.approx(0.3)


def test_strengths_without_a_fit_are_refused_with_what_to_do(sample_of) -> None:
    same = [sample_of(name, [1.0, 1.0, 1.0], held=[False, False, True]) for name in ("maple", "mdf")]
    with pytest.raises(AnalysisError, match="Leave it out, or pull more"):
        estimated(same, [(0, 1)])


def test_errors_of_a_family_are_drawn_from_its_kernel() -> None:
    rng = np.random.default_rng(7)
    normal = drawn_errors(Family.LOGNORMAL, rng, (40_000,))
    extreme = drawn_errors(Family.WEIBULL, rng, (40_000,))
    assert normal.std() == pytest.approx(1.0, abs=0.02)
    assert extreme.mean() == pytest.approx(-0.5772, abs=0.02)
    assert extreme.std() == pytest.approx(math.pi / math.sqrt(6), abs=0.02)


def test_combinations_that_meet_in_every_glue_up_keep_their_scales_where_breaks_are_enough(sample_of) -> None:
    rng = np.random.default_rng(3)
    days = [f"day {number}" for number in range(12)]
    shifts = 0.2 * rng.standard_normal(12)
    steady = sample_of("maple", np.exp(1.0 + 0.05 * rng.standard_normal(12) + shifts), glue_ups=days)
    wild = sample_of("mdf", np.exp(0.4 * rng.standard_normal(12) + shifts), glue_ups=days)
    got = estimated([steady, wild], [(0, 1)])
    assert got.log_sd[1] > 1.5 * got.log_sd[0]
    logs = np.log(steady.sample.lower_mpa) - np.log(wild.sample.lower_mpa)
    assert got.log_median[0] - got.log_median[1] == pytest.approx(logs.mean(), rel=1e-6)
    # Glue-ups cancel, so the error is that of twelve pairs, but for what twelve joints tell of it.
    assert got.errors[0] == pytest.approx(logs.std() / math.sqrt(12), rel=0.25)
    few = [replace(part, sample=_first(part.sample, 5)) for part in (steady, wild)]
    shared = estimated(few, [(0, 1)])
    assert shared.log_sd[0] == shared.log_sd[1]


def _first(sample, count):
    names = sample.batch_names[:count]
    parts = {
        name: getattr(sample, name)[:count]
        for name in ("lower_mpa", "upper_mpa", "batch", "cap_mpa", "load_step_mpa", "handled")
    }
    return replace(sample, batch_names=names, **parts)
