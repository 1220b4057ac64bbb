"""One spread for several combinations, where they may be taken to share it: the user's choice, never the default."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength import normal
from jointlab.strength.known_ratio import RATIO, batch_sizes, centre_and_spread, weights_of
from jointlab.strength.noncentral_t import noncentral_t_quantile
from jointlab.strength.sample import StrengthSample

FloatArray = npt.NDArray[np.float64]

SOURCE = "meeker_hahn_escobar"

METHOD = "shared_spread"
"""Name of the bound; it is shown beside the working bound and never takes its place, so that no pass rests on it."""

DOUBTFUL = 0.10
"""p value below which spreads are not to be shared: a test of few pulls sees little, so it asks early (judgement)."""


@dataclass(frozen=True, slots=True)
class SharedSpread:
    """Several combinations with one standard deviation of ln strength.

    Parameters
    ----------
    log_sd
        The common standard deviation of ln strength within glue-ups.
    degrees
        Degrees of freedom it rests on: pulls less combinations.
    p_value
        Chance of spreads so different if they are one (Bartlett's test).
    bounds_mpa
        Lower bound of each combination [MPa], in the order given.
    """

    log_sd: float
    degrees: int
    p_value: float
    bounds_mpa: tuple[float, ...]

    @property
    def doubtful(self) -> bool:
        """Whether the pulls speak against one spread for all."""
        return self.p_value < DOUBTFUL


def shared_spread_of(
    samples: Sequence[StrengthSample], *, coverage: float = 0.95, confidence: float = 0.95, ratio: float = RATIO
) -> SharedSpread | None:
    """Bounds that take the spread of ln strength from all combinations together; None where that cannot be done.

    Parameters
    ----------
    samples
        Complete strengths [MPa] of two or more combinations, two pulls or more each.
    coverage, confidence
        Of the lower bound, both between 0 and 1.
    ratio
        Between-batch over within-batch spread that is assumed; 0 for pulls that are all alike.

    Returns
    -------
    SharedSpread
        Each bound is exp(m - k s) with s pooled over nu = N - g degrees of freedom and
        k = t'(confidence; nu, z sqrt((1 + ratio^2) w)) / sqrt w (source key ``meeker_hahn_escobar``); exact for
        lognormal strengths of one spread whose ratio is the one assumed.

    Examples
    --------
    >>> one = StrengthSample.of_values([3.1, 4.0, 4.4, 5.2])
    >>> other = StrengthSample.of_values([5.0, 5.9, 7.2, 6.1])
    >>> shared = shared_spread_of([one, other], ratio=0.0)
    >>> shared.degrees, [round(bound, 2) for bound in shared.bounds_mpa]
    (6, [2.12, 3.1])
    """
    if len(samples) < 2 or not all(_shows_spread(sample) for sample in samples):
        return None
    each = [centre_and_spread(np.log(sample.lower_mpa), sample.batch, ratio=ratio) for sample in samples]
    free = np.array([sample.n - 1.0 for sample in samples])
    squares = np.array([spread * spread for _, spread, _ in each])
    degrees = float(free.sum())
    pooled = math.sqrt(float((free * squares).sum()) / degrees)
    z = normal.quantile(coverage)
    bounds = []
    for sample, (centre, _, _) in zip(samples, each, strict=True):
        total = weights_of(batch_sizes(sample.batch), ratio)[1]
        offset = z * math.sqrt((1.0 + ratio * ratio) * total)
        k = noncentral_t_quantile(confidence, degrees=degrees, offset=offset) / math.sqrt(total)
        bounds.append(math.exp(centre - k * pooled))
    return SharedSpread(pooled, int(degrees), equal_spread_p(free, squares), tuple(bounds))


def _shows_spread(sample: StrengthSample) -> bool:
    return bool(sample.complete and sample.n > 1 and 0.0 < sample.lower_mpa.min() < sample.lower_mpa.max())


def equal_spread_p(free: FloatArray, squares: FloatArray) -> float:
    """Bartlett's test that mean squares of normal values, with these degrees of freedom, have one expectation."""
    from scipy import special

    degrees, groups = float(free.sum()), free.size
    pooled = float((free * squares).sum()) / degrees
    statistic = degrees * math.log(pooled) - float((free * np.log(squares)).sum())
    correction = 1.0 + (float((1.0 / free).sum()) - 1.0 / degrees) / (3.0 * (groups - 1))
    return float(special.chdtrc(groups - 1, statistic / correction))
