"""Where joints broke: shares by combination, an exact test of them, and strength against wood failure."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.record.joint import Combination
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import OUTSIDE_THE_JOINT, BrokeAt
from jointlab.stress.joint_stress import JointStress

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

SOURCE = "freeman_halton"

WOOD_CAUTION = (
    "Wood failure is no proxy of strength: a weak wood breaks early and wholly in the wood, a strong glue line on a "
    "strong wood may show little of it. Read it beside the strength, never in its place."
)

MOST_TABLES = 100_000
"""Tables enumerated one by one; beyond, tables of the same margins are drawn (source key ``judgement``)."""

DRAWN_TABLES = 20_000
DRAWN_ORDERS = 2_000
_AT_ONCE = 2_000
LEAST_WITH_WOOD = 4


@dataclass(frozen=True, slots=True)
class BreakShares:
    """Where the joints of one combination let go.

    Parameters
    ----------
    counts
        Pulls by place, most first; places outside the joint (screws, jaws, bar, rig) are counted with ``outside``.
    unsaid, outside
        Pulls without a place, and those whose place is outside the joint.
    wood_pct, cohesive_pct, adhesive_pct
        Mean shares of the break, over pulls that state them; None where none does.
    """

    combination: Combination
    n: int
    counts: tuple[tuple[BrokeAt, int], ...]
    unsaid: int
    outside: int
    wood_pct: float | None
    cohesive_pct: float | None
    adhesive_pct: float | None


@dataclass(frozen=True, slots=True)
class BreakTest:
    """Do combinations break in different places? The chance of a table as unlikely as the one seen, margins as seen.

    ``tables``: how many were looked at; ``exact``: all there are, or that many drawn.
    """

    p_value: float
    tables: int
    exact: bool


@dataclass(frozen=True, slots=True)
class WoodAgainstStrength:
    """Rank correlation of wood failure % and strength within one combination, joints seen to break only."""

    combination: Combination
    n: int
    correlation: float
    p_value: float


def break_shares(pulls: Iterable[Pull]) -> tuple[BreakShares, ...]:
    """Where the joints of every combination let go; excluded pulls are passed over."""
    return tuple(_shares(combination, members) for combination, members in _by_combination(pulls))


def break_test(shares: Sequence[BreakShares], *, rng: np.random.Generator) -> BreakTest | None:
    """Exact test of places by combination; None with fewer than two of either.

    Fisher's test for tables of any size (``SOURCE``): enumerated where tables are few, otherwise drawn with the margins
    seen, which keeps its level too.
    """
    places = sorted({place for share in shares for place, _ in share.counts})
    table = np.array([[dict(share.counts).get(place, 0) for place in places] for share in shares], dtype=np.int64)
    table = table[table.sum(axis=1) > 0] if table.size else table
    if table.shape[0] < 2 or len(places) < 2:
        return None
    return exact_table_test(table, rng=rng)


def exact_table_test(table: IntArray, *, rng: np.random.Generator) -> BreakTest:
    """Share of tables with these margins that are no likelier than this one. Source key ``freeman_halton``."""
    rows, columns = table.sum(axis=1), table.sum(axis=0)
    log_factorial = np.array([math.lgamma(k + 1.0) for k in range(int(table.sum()) + 1)])
    margins = float(log_factorial[rows].sum() + log_factorial[columns].sum() - log_factorial[-1])
    seen = -float(log_factorial[table].sum())
    slack = 1e-9 * (1.0 + abs(seen))
    total, count = 0.0, 0
    for cells in _tables(tuple(int(row) for row in rows), tuple(int(column) for column in columns)):
        count += 1
        if count > MOST_TABLES:
            return _drawn_test(rows, columns, seen + slack, log_factorial, rng)
        log = -sum(float(log_factorial[cell]) for cell in cells)
        if log <= seen + slack:
            total += math.exp(log + margins)
    return BreakTest(min(total, 1.0), count, exact=True)


def _tables(rows: tuple[int, ...], columns: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Cells of every table with these margins, column by column."""
    if len(columns) == 1:
        yield rows
        return
    for column in _columns(rows, columns[0]):
        left = tuple(row - cell for row, cell in zip(rows, column, strict=True))
        for rest in _tables(left, columns[1:]):
            yield (*column, *rest)


def _columns(rows: tuple[int, ...], total: int) -> Iterator[tuple[int, ...]]:
    if len(rows) == 1:
        if total <= rows[0]:
            yield (total,)
        return
    for cell in range(min(rows[0], total) + 1):
        for rest in _columns(rows[1:], total - cell):
            yield (cell, *rest)


def _drawn_test(
    rows: IntArray, columns: IntArray, limit: float, log_factorial: FloatArray, rng: np.random.Generator
) -> BreakTest:
    row_of, column_of = np.repeat(np.arange(rows.size), rows), np.repeat(np.arange(columns.size), columns)
    cells, as_unlikely = rows.size * columns.size, 0
    for first in range(0, DRAWN_TABLES, _AT_ONCE):
        count = min(_AT_ONCE, DRAWN_TABLES - first)
        placed = row_of * columns.size + rng.permuted(np.tile(column_of, (count, 1)), axis=1)
        placed += cells * np.arange(count)[:, None]
        tables = np.bincount(placed.ravel(), minlength=count * cells).reshape(count, cells)
        as_unlikely += int(np.count_nonzero(-log_factorial[tables].sum(axis=1) <= limit))
    return BreakTest((1.0 + as_unlikely) / (1.0 + DRAWN_TABLES), DRAWN_TABLES, exact=False)


def wood_against_strength(
    pulls: Sequence[Pull], stresses: Sequence[JointStress], *, rng: np.random.Generator
) -> tuple[WoodAgainstStrength, ...]:
    """Spearman's correlation of wood failure and strength in every combination with four or more joints that say both.

    The p-value is that of drawn rearrangements. ``WOOD_CAUTION`` goes wherever these are shown. Source key
    ``spearman``.
    """
    from scipy.stats import rankdata

    wood: dict[tuple[str, str, str], list[tuple[float, float]]] = {}
    named: dict[tuple[str, str, str], Combination] = {}
    for pull, stress in zip(pulls, stresses, strict=True):
        if pull.excluded_because is None and stress.exact and pull.broke.wood_pct is not None:
            named.setdefault(pull.joint.combination.key, pull.joint.combination)
            wood.setdefault(pull.joint.combination.key, []).append((pull.broke.wood_pct, stress.lower_mpa))
    found = []
    for key, pairs in sorted(wood.items()):
        share, strength = (rankdata(part) for part in zip(*pairs, strict=True))
        if len(pairs) < LEAST_WITH_WOOD or np.ptp(share) == 0.0 or np.ptp(strength) == 0.0:
            continue
        share, strength = (part - part.mean() for part in (share, strength))
        length = math.sqrt(float((share**2).sum() * (strength**2).sum()))
        correlation = float(share @ strength) / length
        again = rng.permuted(np.tile(share, (DRAWN_ORDERS, 1)), axis=1) @ strength / length
        p = (1.0 + np.count_nonzero(np.abs(again) >= abs(correlation) - 1e-12)) / (DRAWN_ORDERS + 1.0)
        found.append(WoodAgainstStrength(named[key], len(pairs), correlation, float(p)))
    return tuple(found)


def _by_combination(pulls: Iterable[Pull]) -> list[tuple[Combination, list[Pull]]]:
    groups: dict[tuple[str, str, str], list[Pull]] = {}
    for pull in pulls:
        if pull.excluded_because is None:
            groups.setdefault(pull.joint.combination.key, []).append(pull)
    return [(members[0].joint.combination, members) for _, members in sorted(groups.items())]


def _shares(combination: Combination, members: Sequence[Pull]) -> BreakShares:
    places = [pull.broke.broke_at for pull in members]
    inside = Counter(place for place in places if place is not None and place not in OUTSIDE_THE_JOINT)

    def mean(values: Iterable[float | None]) -> float | None:
        given = [value for value in values if value is not None]
        return sum(given) / len(given) if given else None

    return BreakShares(
        combination=combination,
        n=len(members),
        counts=tuple(sorted(inside.items(), key=lambda item: (-item[1], item[0]))),
        unsaid=places.count(None),
        outside=sum(place in OUTSIDE_THE_JOINT for place in places if place is not None),
        wood_pct=mean(pull.broke.wood_pct for pull in members),
        cohesive_pct=mean(pull.broke.cohesive_pct for pull in members),
        adhesive_pct=mean(pull.broke.adhesive_pct for pull in members),
    )
