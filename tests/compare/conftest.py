"""Invented strengths of combinations, in glue-ups of their own or shared."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from jointlab.compare import CombinationSample
from jointlab.record.joint import Combination
from jointlab.strength import StrengthSample

Build = Callable[..., CombinationSample]


@pytest.fixture
def sample_of() -> Build:
    """A combination's sample: strengths, glue-ups by name, and which held."""

    def build(
        substrate: str,
        strengths: Sequence[float],
        *,
        glue_ups: Sequence[str] | None = None,
        held: Sequence[bool] | None = None,
        glue: str = "yellow",
    ) -> CombinationSample:
        names = list(glue_ups or [f"{glue}-{substrate}-{place}" for place in range(len(strengths))])
        known = list(dict.fromkeys(names))
        held = list(held or [False] * len(strengths))
        upper = [math.inf if h else x for x, h in zip(strengths, held, strict=True)]
        sample = StrengthSample.of_intervals(strengths, upper)
        sample = replace(
            sample,
            batch=np.array([known.index(name) for name in names], dtype=np.int64),
            batch_names=tuple(known),
        )
        return CombinationSample(Combination(glue, substrate), sample)

    return build


@pytest.fixture
def drawn(sample_of: Build) -> Callable[..., list[CombinationSample]]:
    """Lognormal strengths of several combinations, n each, medians given, from a fixed seed."""

    def build(medians: Sequence[float], n: int, *, sd: float = 0.2, shared: bool = False) -> list[CombinationSample]:
        rng = np.random.default_rng(5)
        moved = rng.standard_normal(n) * sd
        parts = []
        for place, median in enumerate(medians):
            logs = math.log(median) + sd * rng.standard_normal(n) + (moved if shared else 0.0)
            names = [f"day {k}" for k in range(n)] if shared else None
            parts.append(sample_of(f"wood {place}", [float(x) for x in np.exp(logs)], glue_ups=names))
        return parts

    return build
