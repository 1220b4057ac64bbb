"""The standard normal distribution in numpy alone: tails to twelve digits without the price of a larger import."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

SOURCE = "shepherd_laframboise"

LOG_ROOT_TWO_PI = 0.5 * math.log(2.0 * math.pi)
_POLE = 3.0
# (1 + 2x) exp(x^2) erfc(x) as a Chebyshev series in (x - 3) / (x + 3), x >= 0; the form is that of the source, the
# coefficients are computed for this pole with fifty digits and end where they fall below 1e-17.
_SERIES = (
    1.17756257419656,
    0.005353904539615676,
    -0.09377550342284209,
    0.05436652555744322,
    -0.018976596707845208,
    0.004453426061462712,
    -0.0006335531710553147,
    1.7661719523171586e-05,
    1.2841532864056661e-05,
    -2.007228565906001e-06,
    -1.8075227904149321e-07,
    7.549828343824276e-08,
    1.8856685238327027e-09,
    -2.699519049801334e-09,
    -1.4600791199098856e-11,
    1.036160744632088e-10,
    1.475715982951734e-12,
    -4.277340055981593e-12,
    -2.0792248332114265e-13,
    1.813450296040421e-13,
    1.9734264260242626e-14,
    -7.28793724815152e-15,
    -1.5169841392985255e-15,
    2.351416751616464e-16,
    1.0005843886891262e-16,
)


def scaled_tail(x: FloatArray) -> FloatArray:
    """Value of exp(x^2) erfc(x) for x >= 0 (source key ``shepherd_laframboise``)."""
    twice = 2.0 * (x - _POLE) / (x + _POLE)
    later, last = np.zeros_like(twice), np.zeros_like(twice)
    for coefficient in _SERIES[:0:-1]:
        later, last = coefficient + twice * later - last, later
    return np.asarray((_SERIES[0] + 0.5 * twice * later - last) / (1.0 + 2.0 * x))


def log_density(z: FloatArray) -> FloatArray:
    """Logarithm of the standard normal density."""
    return np.asarray(-0.5 * z * z - LOG_ROOT_TWO_PI)


def log_cdf(z: FloatArray) -> FloatArray:
    """Logarithm of the probability that a standard normal value is at most ``z``, true in both tails."""
    size = np.abs(z)
    scaled = 0.5 * scaled_tail(size / math.sqrt(2.0))
    half_square = 0.5 * size * size
    low = np.log(scaled) - half_square
    high = np.log1p(-scaled * np.exp(-half_square))
    return np.where(z > 0.0, high, low)


def cdf(z: FloatArray) -> FloatArray:
    """Probability that a standard normal value is at most ``z``."""
    return np.asarray(np.exp(log_cdf(z)))


@lru_cache(maxsize=256)
def quantile(probability: float) -> float:
    """Value a standard normal stays below with the given probability, 0 < ``probability`` < 1."""
    lower = min(probability, 1.0 - probability)
    z = -math.sqrt(max(-2.0 * math.log(2.0 * lower), 0.0))
    for _ in range(40):
        log_p = float(log_cdf(np.array([z]))[0])
        slope = math.exp(-0.5 * z * z - LOG_ROOT_TWO_PI - log_p)
        step = (log_p - math.log(lower)) / slope
        z -= step
        if abs(step) < 1e-15 * (1.0 + abs(z)):
            break
    return z if probability <= 0.5 else -z
