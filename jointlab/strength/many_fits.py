"""A family fitted to many samples in one pass: what ``fitting.fit`` gives, for thousands of combinations."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from jointlab.strength.fitting import ON_LOGS, fit, fitted, intervals, kernel_of
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import maximum_of
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import Family, StrengthFit

FloatArray = npt.NDArray[np.float64]

SOURCE = "lawless"


def fits(samples: Iterable[StrengthSample], *, family: Family) -> tuple[StrengthFit, ...]:
    """``fit`` of each sample, in their order; samples of one size are worked on together.

    Parameters
    ----------
    samples
        Usable strengths [MPa] with their censoring, each of its own size.
    family
        The distribution.

    Returns
    -------
    tuple of StrengthFit
        As ``fit`` gives them; the sums run over pulls one by one and not over ties, so that the last digits may differ.
        Source key ``lawless``.

    Examples
    --------
    >>> two = [StrengthSample.of_values([3.1, 4.0, 4.4, 5.2]), StrengthSample.of_values([2.0, 4.0, 6.0, 8.0])]
    >>> [round(fit.parameters[0][1], 3) for fit in fits(two, family=Family.NORMAL)]
    [4.175, 5.0]
    """
    every = tuple(samples)
    by_size: dict[int, list[int]] = {}
    for place, sample in enumerate(every):
        by_size.setdefault(sample.n, []).append(place)
    found: dict[int, StrengthFit] = {}
    for size, places in by_size.items():
        found.update(zip(places, _of_one_size([every[place] for place in places], family, size), strict=True))
    return tuple(found[place] for place in range(len(every)))


def _of_one_size(samples: Sequence[StrengthSample], family: Family, size: int) -> list[StrengthFit]:
    if size == 0:
        return [fit(sample, family=family) for sample in samples]
    ends = [intervals(sample) for sample in samples]
    lower, upper = np.array([low for low, _ in ends]), np.array([high for _, high in ends])
    order = np.lexsort((upper, lower), axis=1)  # the order of the pulls changes no digit
    lower, upper = np.take_along_axis(lower, order, axis=1), np.take_along_axis(upper, order, axis=1)
    usual = (upper > 0.0).all(axis=1)  # a strength of zero has no logarithm: looked at by itself, to say so
    found: list[StrengthFit | None] = [None] * len(samples)
    for row in map(int, np.flatnonzero(~usual)):
        found[row] = fit(samples[row], family=family)
    rows = np.flatnonzero(usual)
    if rows.size:
        low, high, jacobian = _on_scale(lower[rows], upper[rows], family)
        best = maximum_of(Samples(low, high, np.ones_like(low)), kernel_of(family))
        for row, location, scale, log, shift, ill in zip(
            map(int, rows), best.location, best.scale, best.log_likelihood, jacobian, best.ill, strict=True
        ):
            found[row] = (
                fit(samples[row], family=family)
                if ill is not None
                else fitted(family, float(location), float(scale), float(log), float(shift), size)
            )
    return [one for one in found if one is not None]


def _on_scale(lower: FloatArray, upper: FloatArray, family: Family) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Ends on the family's scale, and of each sample the sum of -ln x over exact strengths."""
    exact = lower == upper
    if family not in ON_LOGS:
        return np.where((lower == 0.0) & ~exact, -np.inf, lower), upper, np.zeros(lower.shape[0])
    with np.errstate(divide="ignore"):
        low, high = np.log(lower), np.log(upper)
    return low, high, -np.where(exact, high, 0.0).sum(axis=1)
