"""Goodness of fit of complete samples: Anderson-Darling, against samples simulated from the fitted family."""

from __future__ import annotations

import dataclasses
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from jointlab.strength.fitting import ON_LOGS, kernel_of
from jointlab.strength.kernels import STANDARD_NORMAL, Kernel
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import maximum_of
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family, StrengthFit

FloatArray = npt.NDArray[np.float64]

SOURCE = "stephens"

REPLICATES = 1999
"""Simulated samples behind a p value (source key judgement)."""


def with_goodness(sample: StrengthSample, fitted: StrengthFit) -> StrengthFit:
    """The fit with its Anderson-Darling statistic and p value; as it was when the sample is censored or has no fit.

    The p value is the share of samples simulated from the family, and fitted likewise, that fit no better: it holds for
    any n, and with few pulls it seldom speaks against a family. Source key ``stephens``.
    """
    if not sample.complete or fitted.ill is not None or sample.n < 3:
        return fitted
    kernel = kernel_of(fitted.family)
    x = np.log(sample.lower_mpa) if fitted.family in ON_LOGS else np.array(sample.lower_mpa)
    statistic = float(_fitted_distances(kernel, x[None])[0])
    null = _null_distances(fitted.family, sample.n)
    p_value = (1.0 + float((null >= statistic).sum())) / (null.size + 1.0)
    return dataclasses.replace(fitted, anderson_darling=statistic, p_value=p_value)


@lru_cache(maxsize=256)
def _null_distances(family: Family, n: int) -> FloatArray:
    """Distances of samples from their own fits: one distribution for all locations and scales."""
    kernel = kernel_of(family)
    rng = np.random.default_rng(np.random.SeedSequence((n, int(kernel is STANDARD_NORMAL))))
    shape = (REPLICATES, n)
    draws = rng.standard_normal(shape) if kernel is STANDARD_NORMAL else np.log(rng.standard_exponential(shape))
    distances = _fitted_distances(kernel, draws)
    distances.setflags(write=False)
    return distances


def _fitted_distances(kernel: Kernel, x: FloatArray) -> FloatArray:
    """Anderson-Darling distance of complete samples of shape (samples, n) from their own fits."""
    if kernel is STANDARD_NORMAL:
        location, scale = x.mean(axis=1), x.std(axis=1)
    else:
        best = maximum_of(Samples(x, x, np.ones_like(x)), kernel)
        location, scale = best.location, best.scale
    z = np.sort((x - location[:, None]) / scale[:, None], axis=1)
    n = x.shape[1]
    below = kernel.left(z.ravel()).log.reshape(z.shape)
    above = kernel.right(z.ravel()).log.reshape(z.shape)
    weight = (2.0 * np.arange(1, n + 1) - 1.0) / n
    return np.asarray(-n - (weight * (below + above[:, ::-1])).sum(axis=1))
