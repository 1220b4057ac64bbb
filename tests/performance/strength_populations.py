"""The battery's populations of joint strength: clean families, void mixtures, and batches that shift them.

Every population has a mean near 1, so that a bound is read against the true percentile as a ratio.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special, stats

FloatArray = npt.NDArray[np.float64]
FLOOR = 1e-6
EULER = 0.5772156649015329


@dataclass(frozen=True)
class Population:
    """Strengths of joints from one glue-up: how to draw them, their distribution function, and the sound joints' CV."""

    name: str
    kind: str
    draw: Callable[[np.random.Generator, tuple[int, ...]], FloatArray]
    cdf: Callable[[FloatArray], FloatArray]
    cv: float


def _of(name: str, kind: str, distribution: stats.rv_continuous, cv: float | None = None) -> Population:
    return Population(
        name=name,
        kind=kind,
        draw=lambda rng, shape: np.maximum(distribution.ppf(rng.random(shape)), FLOOR),
        cdf=distribution.cdf,
        cv=float(distribution.std() / distribution.mean()) if cv is None else cv,
    )


def _sev(cv: float) -> Population:
    scale = cv * math.sqrt(6.0) / math.pi
    return _of(f"smallest extreme value {cv:.2f}", "clean", stats.gumbel_l(1.0 + EULER * scale, scale), cv)


def _mixture(share: float, strength: float) -> Population:
    sound = stats.weibull_min(6.0)

    def draw(rng: np.random.Generator, shape: tuple[int, ...]) -> FloatArray:
        x = sound.ppf(rng.random(shape))
        return np.where(rng.random(shape) < share, strength * x, x)

    return Population(
        name=f"{share:.0%} voided at {strength:.2f}",
        kind="mixture" if strength > 0.3 else "deep voids",
        draw=draw,
        cdf=lambda t: (1.0 - share) * sound.cdf(t) + share * sound.cdf(t / strength),
        cv=float(sound.std() / sound.mean()),
    )


def populations() -> list[Population]:
    """The battery, in the order of its table; deep voids last, reported beside it."""
    normals = [_of(f"normal {cv:.2f}", "clean", stats.norm(1.0, cv), cv) for cv in (0.15, 0.20, 0.25)]
    logs = []
    for cv in (0.15, 0.25):
        sd = math.sqrt(math.log1p(cv * cv))
        logs.append(_of(f"lognormal {cv:.2f}", "clean", stats.lognorm(sd), cv))
    return [
        _of("Weibull 4", "clean", stats.weibull_min(4.0)),
        _of("Weibull 8", "clean", stats.weibull_min(8.0)),
        *normals,
        *logs,
        _of("gamma 0.25", "clean", stats.gamma(16.0, scale=1 / 16)),
        _sev(0.15),
        _sev(0.25),
        _of("uniform 0.5 to 1.5", "clean", stats.uniform(0.5, 1.0)),
        _of("0.5 + 0.5 Weibull 2", "clean", stats.weibull_min(2.0, loc=0.5, scale=0.5)),
        *(_mixture(share, strength) for strength in (0.45, 0.70) for share in (0.10, 0.20, 0.30)),
        *(_mixture(share, 0.20) for share in (0.05, 0.10, 0.15)),
    ]


def true_percentile(population: Population, *, ratio: float, additive: bool, share: float = 0.05) -> float:
    """Percentile over batches and joints: the mean over batch shifts of the distribution function, solved."""
    nodes, weights = special.roots_hermitenorm(61)
    weights = weights / weights.sum()
    shift = ratio * population.cv * nodes

    def below(t: float) -> float:
        at = t - shift if additive else t * np.exp(-shift)
        return float((weights * population.cdf(at)).sum())

    low, high = 0.0, 3.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if below(middle) < share else (low, middle)
    return 0.5 * (low + high)


def batch_numbers(n: int, batches: int) -> npt.NDArray[np.int64]:
    """Pulls spread over glue-ups as evenly as they go."""
    return np.sort(np.arange(n) % batches).astype(np.int64)


def shops(
    population: Population, rng: np.random.Generator, *, runs: int, n: int, batches: int, ratio: float, additive: bool
) -> FloatArray:
    """Strengths of ``runs`` shops, shape (runs, n), pulls sorted by batch."""
    joints = population.draw(rng, (runs, n))
    shift = ratio * population.cv * rng.normal(size=(runs, batches))[:, batch_numbers(n, batches)]
    return np.maximum(joints + shift, FLOOR) if additive else joints * np.exp(shift)
