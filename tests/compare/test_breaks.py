"""Where joints broke: shares, the exact test, wood failure."""

from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare import breaks
from jointlab.compare.breaks import (
    WOOD_CAUTION,
    break_shares,
    break_test,
    exact_table_test,
    wood_against_strength,
)
from jointlab.record.joint import Combination, Disc, Joint
from jointlab.record.pull import Break, Loading, Pull
from jointlab.record.vocabulary import Action, BrokeAt, Outcome
from jointlab.stress.joint_stress_of import joint_stress_of


def pull(substrate: str, place: BrokeAt | None, *, number: int = 1, wood: float | None = None, load: float = 100.0):
    return Pull(
        batch="A",
        specimen=f"{substrate} {number}",
        tested_on="2026-03-14",
        joint=Joint(Combination("yellow", substrate), Disc(50.0)),
        action=Action.PRY,
        loading=Loading(load=load, arm_mm=300.0),
        outcome=Outcome.BROKE,
        broke=Break(broke_at=place, wood_pct=wood),
    )


def test_shares_count_places_inside_and_outside_the_joint() -> None:
    pulls = [
        pull("mdf", BrokeAt.SUBSTRATE, number=1, wood=100.0),
        pull("mdf", BrokeAt.SUBSTRATE, number=2, wood=80.0),
        pull("mdf", BrokeAt.GLUE_LINE, number=3),
        pull("mdf", BrokeAt.SCREWS, number=4),
        pull("mdf", None, number=5),
        replace(pull("mdf", BrokeAt.GLUE_LINE, number=6), excluded_because="clamp slipped"),
    ]
    (got,) = break_shares(pulls)
    assert (got.n, got.unsaid, got.outside) == (5, 1, 1)
    assert got.counts == ((BrokeAt.SUBSTRATE, 2), (BrokeAt.GLUE_LINE, 1))
    assert got.wood_pct == pytest.approx(90.0)
    assert got.cohesive_pct is None


def test_a_table_of_two_by_two_has_fishers_p() -> None:
    from scipy.stats import fisher_exact

    table = np.array([[7, 1], [2, 6]])
    got = exact_table_test(table, rng=np.random.default_rng(1))
    assert got.exact
    assert got.p_value == pytest.approx(fisher_exact(table).pvalue, rel=1e-9)


def test_larger_tables_agree_enumerated_and_drawn(monkeypatch) -> None:
    table = np.array([[4, 1, 0], [1, 3, 1], [0, 2, 4]])
    enumerated = exact_table_test(table, rng=np.random.default_rng(1))
    monkeypatch.setattr(breaks, "MOST_TABLES", 10)
    drawn = exact_table_test(table, rng=np.random.default_rng(1))
    assert (enumerated.exact, drawn.exact) == (True, False)
    assert drawn.p_value == pytest.approx(enumerated.p_value, abs=0.005)


def test_places_that_differ_by_combination_are_seen() -> None:
    mdf = [pull("mdf", BrokeAt.SUBSTRATE, number=k) for k in range(8)]
    maple = [pull("maple", BrokeAt.GLUE_LINE, number=k) for k in range(8)]
    shares = break_shares([*mdf, *maple])
    got = break_test(shares, rng=np.random.default_rng(1))
    assert got is not None
    assert got.p_value == pytest.approx(2 / 12870, rel=1e-9)  # two of C(16, 8) arrangements
    assert break_test(break_shares(mdf), rng=np.random.default_rng(1)) is None


def test_wood_failure_beside_strength_comes_with_its_caution() -> None:
    pulls = [pull("mdf", BrokeAt.SUBSTRATE, number=k, wood=10.0 * k, load=100.0 + k) for k in range(7)]
    stresses = [joint_stress_of(one) for one in pulls]
    (got,) = wood_against_strength(pulls, stresses, rng=np.random.default_rng(1))
    assert (got.n, got.correlation) == (7, pytest.approx(1.0))
    assert got.p_value < 0.01
    assert "no proxy" in WOOD_CAUTION
    assert wood_against_strength(pulls[:3], stresses[:3], rng=np.random.default_rng(1)) == ()
