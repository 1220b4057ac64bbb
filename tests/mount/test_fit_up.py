import numpy as np
import pytest

from jointlab.errors import InputError
from jointlab.mount.face_readings import FaceReadings
from jointlab.mount.fit_up import RUNOUT_LIMIT_MM, Stage, fit_up_of, runout_change
from jointlab.record.finding import FindingCode, Severity
from jointlab.record.vocabulary import GlueFamily


def face(tilt_mm=0.0, warp_mm=0.0, *, high_at_rad=0.0, count=16, radius_mm=50.0):
    """A face that leans by ``tilt_mm`` across and is bent like a saddle by ``warp_mm`` from valley to peak."""
    angles = 2 * np.pi * np.arange(count) / count
    heights = 25.0 + tilt_mm / 2 * np.cos(angles - high_at_rad) + warp_mm / 2 * np.cos(2 * angles)
    return FaceReadings.equally_spaced(list(heights), radius_mm=radius_mm)


def codes(fit):
    return {finding.code for finding in fit.findings}


def test_tilt_and_warp_are_told_apart():
    fit = fit_up_of(face(0.4, 0.1, high_at_rad=1.0), blank_diameter_mm=300.0)
    assert fit.tilt_mm == pytest.approx(0.4)
    assert fit.tilt_rad == pytest.approx(0.4 / 100.0, rel=1e-4)
    assert fit.high_at_rad == pytest.approx(1.0)
    assert fit.warp_mm == pytest.approx(0.1)
    assert fit.wobble_mm == pytest.approx(1.2)
    assert np.sum(fit.left_mm) == pytest.approx(0.0, abs=1e-9)


def test_a_pure_tilt_runs_out_and_leaves_no_warp():
    fit = fit_up_of(face(0.2))
    assert fit.runout_mm == pytest.approx(0.2)
    assert fit.warp_mm == pytest.approx(0.0, abs=1e-12)
    assert fit.wobble_mm is None


def test_three_readings_are_always_a_plane_and_the_fit_says_they_are_few():
    fit = fit_up_of(FaceReadings.equally_spaced([0.0, 0.3, 0.1], radius_mm=40.0))
    assert fit.warp_mm == pytest.approx(0.0, abs=1e-12)
    assert FindingCode.FEW_READINGS in codes(fit)


def test_readings_on_several_circles_share_one_plane():
    angles, radii = np.array([0, 1, 2, 3, 4, 5.0]), np.array([20, 50, 20, 50, 20, 50.0])
    heights = 1.0 + 0.002 * radii * np.cos(angles) - 0.001 * radii * np.sin(angles)
    fit = fit_up_of(FaceReadings(angles, radii, heights))
    assert np.tan(fit.tilt_rad) == pytest.approx(np.hypot(0.002, 0.001))
    assert fit.tilt_mm == pytest.approx(np.hypot(0.002, 0.001) * 100.0)
    assert fit.warp_mm == pytest.approx(0.0, abs=1e-12)


def test_a_face_flat_within_a_hundredth_of_an_inch_is_good_and_out_by_a_sixteenth_is_not():
    """Common practice of the trade: 0.01 in is good enough to glue to, 1/16 in is not."""
    assert codes(fit_up_of(face(0.254 * 0.99))) == set()
    bad = fit_up_of(face(25.4 / 16))
    assert codes(bad) == {FindingCode.FACE_TILTED}
    assert "not good enough to glue to" in bad.findings[0].text


def test_a_warp_is_judged_by_what_the_glue_bridges():
    warped = face(0.0, 0.5)
    assert FindingCode.GAP_WIDE in codes(fit_up_of(warped, glue_family=GlueFamily.PVA))
    assert FindingCode.GAP_WIDE not in codes(fit_up_of(warped, glue_family=GlueFamily.EPOXY))


@pytest.mark.parametrize("stage", list(Stage))
def test_a_runout_that_grew_beyond_the_limit_is_told_with_what_happened(stage):
    before = fit_up_of(face(0.1))
    grown = runout_change(before, fit_up_of(face(0.11 + RUNOUT_LIMIT_MM)), stage=stage)
    assert [finding.code for finding in grown.findings] == [FindingCode.RUNOUT_GREW]
    assert f"since {stage}" in grown.findings[0].text
    assert runout_change(before, fit_up_of(face(0.09 + RUNOUT_LIMIT_MM)), stage=stage).findings == ()


def test_a_lean_that_moved_around_is_asked_about_though_the_runout_is_the_same():
    """Two leans of 0.4 mm across, a right angle apart, differ by 0.4 times the root of two (derived)."""
    angles = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    before, after = (
        fit_up_of(FaceReadings(angles, np.full(16, 60.0), 0.2 * np.cos(angles - start))) for start in (0.0, np.pi / 2)
    )
    change = runout_change(before, after, stage=Stage.REMOUNTING)
    assert change.grown_mm == pytest.approx(0.0, abs=1e-12)
    assert change.moved_mm == pytest.approx(0.4 * 2**0.5)
    (told,) = change.findings
    assert (told.code, told.severity) == (FindingCode.RUNOUT_GREW, Severity.QUESTION)
    assert runout_change(after, before, stage=Stage.REMOUNTING).moved_mm == pytest.approx(change.moved_mm)
    assert runout_change(before, before, stage=Stage.ROUGHING).findings == ()


def test_the_place_of_the_first_reading_does_not_matter():
    angles = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    heights = np.array([0.0, 0.2, 0.1, 0.3, 0.0, 0.1, 0.2, 0.0, 0.1, 0.4, 0.2, 0.1])
    one = fit_up_of(FaceReadings(angles, np.full(12, 50.0), heights.copy()))
    turned = fit_up_of(FaceReadings(angles + 0.7, np.full(12, 50.0), heights.copy()))
    assert turned.tilt_mm == pytest.approx(one.tilt_mm)
    assert turned.warp_mm == pytest.approx(one.warp_mm)
    assert (turned.high_at_rad - one.high_at_rad) % (2 * np.pi) == pytest.approx(0.7)


def test_two_readings_are_refused():
    with pytest.raises(InputError, match="three readings or more"):
        fit_up_of(FaceReadings.equally_spaced([0.0, 0.1], radius_mm=40.0))
