"""Analysis of variance by comparison of models: unbalanced layouts, empty cells and glue-ups as random blocks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

SOURCE = "searle_unbalanced"


class SumOfSquares(StrEnum):
    """Which question a line of the table asks."""

    TYPE_2 = "type II: each term adjusted for every other that does not contain it"


@dataclass(frozen=True, slots=True)
class Factor:
    """One thing that varies from pull to pull: its name and, a pull, its level."""

    name: str
    levels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VarianceLine:
    """A term of the table; ``f`` and ``p_value`` None where nothing is left to test it (no degree of freedom)."""

    term: str
    degrees: int
    sum_of_squares: float
    f: float | None
    p_value: float | None


@dataclass(frozen=True, slots=True)
class VarianceTable:
    """Lines of an analysis of variance on ln strength.

    Parameters
    ----------
    lines
        One a term.
    error_degrees, error_sum_of_squares
        What the full model leaves.
    kind
        Type of the sums of squares.
    empty_cells
        Combinations of levels without a pull: the interaction is tested on the filled cells only.
    ratio
        Between-glue-up sd / within-glue-up sd taken as known; None: glue-ups were not counted.
    """

    lines: tuple[VarianceLine, ...]
    error_degrees: int
    error_sum_of_squares: float
    kind: SumOfSquares
    empty_cells: int
    ratio: float | None = None


Term = tuple[str, ...]


def terms_of(factors: Sequence[Factor], *, order: int) -> tuple[Term, ...]:
    """Every main effect and every interaction of up to ``order`` factors, in order."""
    names = [factor.name for factor in factors]
    return tuple(term for size in range(1, order + 1) for term in combinations(names, size))


def variance_table(
    response: FloatArray,
    *,
    factors: Sequence[Factor],
    order: int = 2,
    blocks: Factor | None = None,
    whitening: FloatArray | None = None,
    ratio: float | None = None,
) -> VarianceTable:
    """Sums of squares of type II with their F tests, by comparing linear models that do and do not hold a term.

    Parameters
    ----------
    response
        Shape (n,), such as ln strength.
    factors
        Their levels, one a pull.
    order
        Interactions of up to this many factors.
    blocks
        Glue-ups as blocks: a term of every model, without interaction.
    whitening
        Shape (n, n): multiplies response and design so that errors are independent (glue-ups as random blocks).
    ratio
        Said in the table.

    Returns
    -------
    VarianceTable
        Degrees of freedom are differences of ranks, so that empty cells lower those of an interaction. Source key
        ``searle_unbalanced``. The response is centred first: digits that all values share do not cost digits of F.
    """
    from scipy import stats

    white = np.eye(response.size) if whitening is None else whitening
    y = white @ (response - response[0])
    columns = {term: white @ _indicators(factors, term) for term in terms_of(factors, order=order)}
    if blocks is not None:
        columns[(blocks.name,)] = white @ _indicators([blocks], (blocks.name,))
    mean = white @ np.ones((response.size, 1))
    error, rank = _left_over(y, [mean, *columns.values()])
    degrees = response.size - rank
    lines = []
    for term in columns:
        others = [part for other, part in columns.items() if not set(term) <= set(other)]
        without, rank_without = _left_over(y, [mean, *others])
        held, rank_held = _left_over(y, [mean, *others, columns[term]])
        gained, spent = without - held, rank_held - rank_without
        testable = spent > 0 and degrees > 0 and error > 0.0
        f = gained / spent / (error / degrees) if testable else None
        p = None if f is None else float(stats.f.sf(f, spent, degrees))
        lines.append(VarianceLine(" x ".join(term), spent, gained, f, p))
    return VarianceTable(tuple(lines), degrees, error, SumOfSquares.TYPE_2, _empty_cells(factors), ratio)


def _left_over(y: FloatArray, parts: Iterable[FloatArray]) -> tuple[float, int]:
    """Residual sum of squares and rank of a linear model; columns that say a thing twice are left out first."""
    from statsmodels.regression.linear_model import OLS

    design = _independent(np.hstack(list(parts)))
    fitted = OLS(y, design, hasconst=False).fit()
    return float((fitted.resid**2).sum()), design.shape[1]


def _independent(design: FloatArray) -> FloatArray:
    """A largest set of independent columns, in their order."""
    from scipy.linalg import qr

    _, r, order = qr(design, mode="economic", pivoting=True)
    size = np.abs(np.diag(r))
    return np.asarray(design[:, np.sort(order[: int((size > 1e-10 * size[0]).sum())])])


def _indicators(factors: Sequence[Factor], term: Term) -> FloatArray:
    by_name: Mapping[str, Factor] = {factor.name: factor for factor in factors}
    cells = list(zip(*(by_name[name].levels for name in term), strict=True))
    order = {cell: index for index, cell in enumerate(dict.fromkeys(cells))}
    return np.eye(len(order))[[order[cell] for cell in cells]]


def _empty_cells(factors: Sequence[Factor]) -> int:
    cells = set(zip(*(factor.levels for factor in factors), strict=True))
    return int(np.prod([len(set(factor.levels)) for factor in factors])) - len(cells)
