import mpmath
import numpy as np
import pytest

from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE, STANDARD_NORMAL, Kernel


def sev_log(low: mpmath.mpf, high: mpmath.mpf) -> mpmath.mpf:
    return mpmath.log(mpmath.exp(-mpmath.exp(low)) - mpmath.exp(-mpmath.exp(high)))


def normal_log(low: mpmath.mpf, high: mpmath.mpf) -> mpmath.mpf:
    return mpmath.log(mpmath.ncdf(high) - mpmath.ncdf(low))


BOTH = [(SMALLEST_EXTREME_VALUE, sev_log), (STANDARD_NORMAL, normal_log)]


@pytest.mark.parametrize(("kernel", "exact"), BOTH, ids=["smallest extreme value", "normal"])
@pytest.mark.parametrize("z", [-30.0, -6.0, -1.2, 0.0, 0.7, 3.0])
@pytest.mark.parametrize("w", [1e-8, 1e-4, 0.05, 0.4, 0.9, 3.0])
def test_an_interval_and_its_derivatives_agree_with_sixty_digits(kernel: Kernel, exact, z: float, w: float) -> None:
    got = kernel.interval(np.array([z]), np.array([w]))
    with mpmath.workdps(80):
        at = (mpmath.mpf(z), mpmath.mpf(w))

        def function(start, width):
            return exact(start, start + width)

        expected = {
            "log": function(*at),
            **{
                name: mpmath.diff(function, at, order)
                for name, order in {"z": (1, 0), "w": (0, 1), "zz": (2, 0), "zw": (1, 1), "ww": (0, 2)}.items()
            },
        }
        scale = {"log": 1, "z": 1, "w": 1, "zz": 1, "zw": 1, "ww": 1}
        for name, true in expected.items():
            error = abs(mpmath.mpf(float(getattr(got, name)[0])) - true) / (scale[name] + abs(true))
            assert error < 1e-10, (name, float(true))


@pytest.mark.parametrize("kernel", [SMALLEST_EXTREME_VALUE, STANDARD_NORMAL], ids=["smallest extreme value", "normal"])
def test_left_and_right_tails_are_intervals_without_an_end(kernel: Kernel) -> None:
    z = np.array([-3.0, -0.5, 0.0, 1.1])
    # Far below, nothing: an interval from there is the whole left tail; the two tails sum to one.
    left, right = kernel.left(z), kernel.right(z)
    whole = kernel.interval(np.full(4, -60.0), z + 60.0)
    assert left.log == pytest.approx(whole.log, abs=1e-12)
    assert left.slope == pytest.approx(whole.w, rel=1e-10)
    assert left.curve == pytest.approx(whole.ww, rel=1e-9, abs=1e-12)
    assert np.exp(left.log) + np.exp(right.log) == pytest.approx(np.ones(4), abs=1e-14)


@pytest.mark.parametrize("kernel", [SMALLEST_EXTREME_VALUE, STANDARD_NORMAL], ids=["smallest extreme value", "normal"])
def test_a_density_is_the_slope_of_its_left_tail(kernel: Kernel) -> None:
    z, h = np.array([-2.0, 0.0, 0.9]), 1e-6
    rise = (np.exp(kernel.left(z + h).log) - np.exp(kernel.left(z - h).log)) / (2 * h)
    assert np.exp(kernel.exact(z).log) == pytest.approx(rise, rel=1e-8)


@pytest.mark.parametrize(("z", "w"), [(-344.7, 345.0), (-0.3, 170.0), (-380.0, 380.5), (2.0, 900.0)])
def test_a_wide_interval_of_extremes_keeps_its_digits_where_its_ends_leave_the_floats(z: float, w: float) -> None:
    got = SMALLEST_EXTREME_VALUE.interval(np.array([z]), np.array([w]))
    with mpmath.workdps(400):
        low, high = mpmath.exp(z), mpmath.exp(mpmath.mpf(z) + w)
        log = mpmath.log(mpmath.exp(-low) - (mpmath.exp(-high) if high < 1e5 else 0))
        slope = (high * mpmath.exp(-high) if high < 1e5 else 0) / (
            mpmath.exp(-low) - (mpmath.exp(-high) if high < 1e5 else 0)
        )
    assert got.log[0] == pytest.approx(float(log), rel=1e-11)
    assert got.w[0] == pytest.approx(float(slope), rel=1e-11, abs=1e-300)
    assert np.isfinite([got.z[0], got.zz[0], got.zw[0], got.ww[0]]).all()
    assert got.ww[0] <= 0.0
