"""The rig before the test."""

import pytest

from jointlab.errors import InputError
from jointlab.plan.rig_fit import rig_fit, rig_fit_findings, stress_per_load
from jointlab.plan.values import Method, SeeDifference
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.record.rig import Rig, RigKind
from jointlab.record.vocabulary import Action

PRY = Method(Action.PRY, Disc(50.0), arm_mm=300.0)
WISH = SeeDifference(1.5, expected_mpa=3.0, log_sd=0.25)
SCALE = Rig("luggage scale", RigKind.BAR_AND_SCALE, arm_mm=300.0, capacity=490.0)


def test_a_disc_pried_at_300_mm_asks_for_what_the_table_of_loads_says() -> None:
    # Elementary mechanics, table of expected loads: disc 50, 3 MPa: 36.8 N m, 123 N at 300 mm; pulled straight 5.89 kN.
    assert 3.0 / stress_per_load(PRY) == pytest.approx(122.7, abs=0.1)
    assert 3.0 / stress_per_load(Method(Action.PULL, Disc(50.0))) == pytest.approx(5890, abs=2)
    assert 5.0 / stress_per_load(Method(Action.TWIST, Disc(50.0))) == pytest.approx(123, abs=0.5)
    assert 3.0 / stress_per_load(Method(Action.PRY, Rectangle(25.0, 25.0), 300.0)) == pytest.approx(26, abs=0.1)


def test_loads_run_from_the_weakest_in_twenty_to_the_strongest() -> None:
    fit = rig_fit(PRY, WISH, rig=SCALE)
    assert fit.load_expected == pytest.approx(122.7, abs=0.1)
    assert fit.load_low / fit.load_expected == pytest.approx(0.6628, abs=1e-3)  # exp(-1.645 x .25)
    assert fit.share_expected == pytest.approx(0.2504, abs=1e-3)


def test_a_rig_too_large_or_too_small_is_told_with_a_size_that_suits() -> None:
    large = rig_fit(PRY, WISH, rig=SCALE)
    assert large.suits is False
    assert large.better_mm == 60.0  # the nearest size whose loads lie within 20 to 80 %
    (finding,) = rig_fit_findings(large, rig=SCALE)
    assert finding.code is FindingCode.RIG_RANGE
    assert "A size of 60 mm would suit it" in finding.text
    again = rig_fit(Method(Action.PRY, Disc(60.0), 300.0), WISH, rig=SCALE)
    assert again.suits
    assert rig_fit_findings(again, rig=SCALE) == ()


def test_no_size_suits_a_rig_far_too_small() -> None:
    small = Rig("kitchen scale", RigKind.SCALE_IN_LINE, capacity=10.0)
    fit = rig_fit(Method(Action.PULL, Ring(50.0, 20.0)), WISH, rig=small)
    assert fit.better_mm is None
    assert "Use another rig" in rig_fit_findings(fit, rig=small)[0].text


def test_without_a_rig_loads_are_told_and_not_judged() -> None:
    fit = rig_fit(PRY, WISH, rig=None)
    assert (fit.suits, fit.capacity, fit.share_low) == (None, None, None)
    assert rig_fit_findings(fit, rig=None) == ()


def test_a_pry_needs_its_arm() -> None:
    with pytest.raises(InputError, match="a pry needs its arm"):
        rig_fit(Method(Action.PRY, Disc(50.0)), WISH, rig=SCALE)
