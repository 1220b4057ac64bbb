"""The same problems for this program and for general libraries, in turns within one run.

Run ``python tests/performance/strength_peers.py`` (needs the extra ``bench``): it writes reports/strength/peers.md.
"""

from __future__ import annotations

import contextlib
import io
import logging
import math
import os
import sys
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

import numpy as np

from jointlab.strength.kernels import SMALLEST_EXTREME_VALUE
from jointlab.strength.likelihood import Samples
from jointlab.strength.maximum import maximum_of

PATH = Path(__file__).parents[2] / "reports" / "strength" / "peers.md"
N, REFITS, TURNS, SHAPE = 10, 10_000, 5, 4.0
Fit = Callable[[np.ndarray, np.ndarray], tuple[float, float]]
"""Ends of one sample's strengths to Weibull shape and scale."""


@dataclass(frozen=True)
class Problem:
    """Samples of one kind of censoring."""

    name: str
    lower: np.ndarray
    upper: np.ndarray


def problems() -> list[Problem]:
    x = np.random.default_rng(2026).weibull(SHAPE, (REFITS, N))
    floor = np.floor(x / 0.2) * 0.2 + 1e-9
    cap = 1.05
    every_other = np.arange(N) % 2 == 0
    low, high = np.where(every_other, x, floor), np.where(every_other, x, floor + 0.2)
    return [
        Problem("complete", x, x),
        Problem("held at a load", np.minimum(x, cap), np.where(x > cap, np.inf, x)),
        Problem("load steps", floor, floor + 0.2),
        Problem("mixture", np.where(x > cap, cap, low), np.where(x > cap, np.inf, high)),
    ]


def jointlab(lower: np.ndarray, upper: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    best = maximum_of(Samples(np.log(lower), np.log(upper), np.ones_like(lower)), SMALLEST_EXTREME_VALUE)
    return 1.0 / best.scale, np.exp(best.location)


def by_scipy(lower: np.ndarray, upper: np.ndarray) -> tuple[float, float]:
    from scipy import stats

    exact, held = lower == upper, np.isinf(upper)
    between = ~exact & ~held
    sample = stats.CensoredData(
        uncensored=lower[exact], right=lower[held], interval=np.column_stack([lower[between], upper[between]])
    )
    shape, _, scale = stats.weibull_min.fit(sample, 2.0, floc=0.0, scale=1.0)
    return float(shape), float(scale)


def by_statsmodels(lower: np.ndarray, upper: np.ndarray) -> tuple[float, float]:
    from statsmodels.base.model import GenericLikelihoodModel

    exact, held = lower == upper, np.isinf(upper)

    class Weibull(GenericLikelihoodModel):
        def loglike(self, params: np.ndarray) -> float:
            return weibull_height(lower, upper, exact, held, math.exp(params[0]), math.exp(params[1]))

    found = Weibull(np.ones(lower.size), np.ones((lower.size, 1))).fit(
        start_params=[0.7, 0.0], method="bfgs", disp=0, maxiter=200, skip_hessian=True
    )
    return math.exp(found.params[0]), math.exp(found.params[1])


def by_lifelines(lower: np.ndarray, upper: np.ndarray) -> tuple[float, float]:
    from lifelines import WeibullFitter

    held, exact = np.isinf(upper), lower == upper
    fitter = WeibullFitter()
    if (exact | held).all():
        fitter.fit(lower, event_observed=~held)
    else:
        fitter.fit_interval_censoring(lower, upper)
    return float(fitter.rho_), float(fitter.lambda_)


def by_reliability(lower: np.ndarray, upper: np.ndarray) -> tuple[float, float]:
    from reliability.Fitters import Fit_Weibull_2P

    held = np.isinf(upper)
    if not ((lower == upper) | held).all():
        raise NotImplementedError
    right = lower[held].tolist() or None
    found = Fit_Weibull_2P(
        failures=lower[~held].tolist(), right_censored=right, show_probability_plot=False, print_results=False
    )
    return float(found.beta), float(found.alpha)


def by_surpyval(lower: np.ndarray, upper: np.ndarray) -> tuple[float, float]:
    import surpyval

    held, exact = np.isinf(upper), lower == upper
    kind = np.where(exact, 0, np.where(held, 1, 2))
    if (exact | held).all():
        found = surpyval.Weibull.fit(x=lower, c=kind)
    else:
        x = [float(a) if k < 2 else [float(a), float(b)] for a, b, k in zip(lower, upper, kind, strict=True)]
        found = surpyval.Weibull.fit(x=x, c=kind)
    scale, shape = found.params
    return float(shape), float(scale)


PEERS: dict[str, tuple[Fit, int]] = {
    "scipy": (by_scipy, 6),
    "statsmodels": (by_statsmodels, 6),
    "lifelines": (by_lifelines, 4),
    "reliability": (by_reliability, 3),
    "surpyval": (by_surpyval, 6),
}
"""Each peer with how many fits it does a turn; the time is scaled to 10,000."""


def weibull_height(
    lower: np.ndarray, upper: np.ndarray, exact: np.ndarray, held: np.ndarray, shape: float, scale: float
) -> float:
    """Log-likelihood of one sample, by its definition."""
    u, v = (lower / scale) ** shape, (np.where(held, lower, upper) / scale) ** shape
    between = ~exact & ~held
    log = np.log(shape / scale) + (shape - 1.0) * np.log(lower[exact] / scale) - u[exact]
    return float(log.sum() - u[held].sum() + (np.log(-np.expm1(u[between] - v[between])) - u[between]).sum())


def measured(problem: Problem) -> dict[str, tuple[float, float, int]]:
    """Seconds for 10,000 fits, worst shortfall of the attained log-likelihood against ours, and failures."""
    shapes, scales = jointlab(problem.lower, problem.upper)
    seconds: dict[str, list[float]] = {name: [] for name in ("jointlab", *PEERS)}
    short, failed = dict.fromkeys(PEERS, 0.0), dict.fromkeys(PEERS, 0)
    for turn in range(TURNS):
        start = time.process_time()
        jointlab(problem.lower, problem.upper)
        seconds["jointlab"].append(time.process_time() - start)
        for name, (fit, fits) in PEERS.items():
            for row in range(turn * fits, (turn + 1) * fits):
                lower, upper = problem.lower[row], problem.upper[row]
                start = time.process_time()
                try:
                    shape, scale = quiet(fit, lower, upper)
                except Exception:  # a peer that cannot do it is counted, whatever it says
                    failed[name] += 1
                    continue
                seconds[name].append(REFITS * (time.process_time() - start))
                exact, held = lower == upper, np.isinf(upper)
                if math.isfinite(shapes[row]):
                    ours = weibull_height(lower, upper, exact, held, shapes[row], scales[row])
                    theirs = weibull_height(lower, upper, exact, held, shape, scale)
                    short[name] = max(short[name], ours - theirs)
    out = {"jointlab": (min(seconds["jointlab"]), 0.0, 0)}
    out |= {name: (float(np.median(seconds[name] or [math.nan])), short[name], failed[name]) for name in PEERS}
    return out


def quiet(fit: Fit, lower: np.ndarray, upper: np.ndarray) -> tuple[float, float]:
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        return fit(lower, upper)


def row_of(problem: Problem, found: dict[str, tuple[float, float, int]]) -> str:
    ours = found["jointlab"][0]
    cells = [f"{ours:.3f} s"]
    quickest = math.inf
    for name in PEERS:
        seconds, short, failed = found[name]
        if math.isnan(seconds):
            cells.append("cannot")
            continue
        quickest = min(quickest, seconds)
        told = f"{seconds:.0f} s, short by {short:.1e}" + (f", {failed} failed" if failed else "")
        cells.append(told)
    return f"| {problem.name} | " + " | ".join(cells) + f" | {quickest / ours:,.0f} |"


def written(rows: list[str]) -> str:
    used = ", ".join(f"{name} {version(name)}" for name in ("numpy", *PEERS))
    return "\n".join(
        [
            "# Refits beside general libraries",
            "",
            f"10,000 Weibull fits of n {N} (shape {SHAPE:g}), processor seconds on one core. The program fits all",
            f"of them in one call, best of {TURNS}; each library fits some of the same samples in turns with it, the",
            "median fit times 10,000. *Short*: by how much the attained log-likelihood of its worst fit misses ours.",
            "The libraries' own start-up is not counted. Statsmodels has no Weibull fit of its own: its general",
            "likelihood model is used.",
            "",
            "| censoring | jointlab | " + " | ".join(PEERS) + " | quickest library / jointlab |",
            "| --- " * (len(PEERS) + 3) + "|",
            *rows,
            "",
            f"Versions: {used}; Python {sys.version.split()[0]}. Load of the machine when it ran: "
            f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores.",
            "",
            "Made by `python tests/performance/strength_peers.py`.",
            "",
        ]
    )


if __name__ == "__main__":
    logging.disable(logging.CRITICAL)
    rows = []
    for problem in problems():
        for fit, _ in PEERS.values():  # first use imports
            with contextlib.suppress(Exception):
                quiet(fit, problem.lower[0], problem.upper[0])
        rows.append(row_of(problem, measured(problem)))
        print(rows[-1], flush=True)
    PATH.write_text(written(rows), encoding="utf-8")
