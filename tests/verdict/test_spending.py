"""The share of doubt each look spends."""

from __future__ import annotations

import pytest

from jointlab.errors import AnalysisError
from jointlab.verdict.spending import look_told, share_of_look


def test_unplanned_looks_halve_and_never_spend_more_than_there_is():
    shares = [share_of_look(confidence=0.95, look=look, planned_looks=None) for look in range(1, 40)]
    assert shares[:3] == pytest.approx([0.025, 0.0125, 0.00625])
    assert sum(shares) < 0.05
    assert sum(shares) == pytest.approx(0.05)


@pytest.mark.parametrize("looks", [1, 2, 4])
def test_planned_looks_share_alike(looks):
    shares = [share_of_look(confidence=0.95, look=look, planned_looks=looks) for look in range(1, looks + 1)]
    assert shares == pytest.approx([0.05 / looks] * looks)


def test_a_look_beyond_the_plan_has_nothing_left_to_spend():
    with pytest.raises(AnalysisError, match="2 looks and this is look 3"):
        share_of_look(confidence=0.95, look=3, planned_looks=2)


def test_an_unplanned_look_is_told_to_plan_first():
    assert "plan the looks first" in look_told(look=1, planned_looks=None)
    assert look_told(look=1, planned_looks=2) == "Planned look 1 of 2."
