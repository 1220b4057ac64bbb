"""Parts of the comparison's document beyond its effects: tests, table of variance, homogeneity, breaks, trends."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.app.answers import finding_parts
from jointlab.app.documents import Document, FindingPart
from jointlab.compare.breaks import WOOD_CAUTION, BreakShares, BreakTest, WoodAgainstStrength
from jointlab.compare.homogeneity import BatchShare, Drift, Homogeneity
from jointlab.compare.trends import SizeEffect, Trend
from jointlab.compare.values import Estimate, GroupTest
from jointlab.compare.variance_table import VarianceTable


class EstimatePart(Document):
    """A number with the ends of its interval."""

    value: float
    lower: float | None
    upper: float | None


class GroupTestPart(Document):
    """A test over all combinations at once."""

    name: str
    asks: str
    statistic: float
    degrees: tuple[float, ...]
    p_value: float


class VarianceLinePart(Document):
    """A term of the table of variance on ln strength."""

    term: str
    degrees: int
    sum_of_squares: float
    f: float | None
    p_value: float | None


class VariancePart(Document):
    """The table of variance; ``kind`` names the type of its sums of squares."""

    kind: str
    lines: tuple[VarianceLinePart, ...]
    error_degrees: int
    error_sum_of_squares: float
    empty_cells: int


class BatchSharePart(Document):
    """Share of glue-ups in the variance of ln strength, and the ratio of spreads, with intervals."""

    glue_ups: int
    n: int
    share: EstimatePart
    ratio: EstimatePart
    f: float
    p_value: float


class OutlierPart(Document):
    """A strength far from the others of its combination: flagged, kept."""

    combination: str
    strength_mpa: float
    residual: float
    limit: float


class DriftPart(Document):
    """Change of the control from one glue-up to the next."""

    glue_ups: int
    ratio: EstimatePart
    p_value: float


class HomogeneityPart(Document):
    """What speaks against taking the pulls as they are; ``drift`` is that of a control named."""

    spreads: tuple[GroupTestPart, ...]
    batch_share: BatchSharePart | None
    outliers: tuple[OutlierPart, ...]
    drift: DriftPart | None
    findings: tuple[FindingPart, ...]


class PlacePart(Document):
    """Joints that let go in one place."""

    broke_at: str
    n: int


class SharesPart(Document):
    """Where the joints of one combination let go."""

    combination: str
    n: int
    places: tuple[PlacePart, ...]
    unsaid: int
    outside: int
    wood_pct: float | None
    cohesive_pct: float | None
    adhesive_pct: float | None


class BreakTestPart(Document):
    """Outcome of the exact test whether combinations break in different places."""

    p_value: float
    tables: int
    exact: bool


class WoodPart(Document):
    """Rank correlation of wood failure and strength within a combination."""

    combination: str
    n: int
    correlation: float
    p_value: float


class BreaksPart(Document):
    """Where joints broke."""

    combinations: tuple[SharesPart, ...]
    test: BreakTestPart | None
    wood_against_strength: tuple[WoodPart, ...]
    caution: str


class TrendPart(Document):
    """Strength against a quantity; the size exponent stands beside 1 / Weibull shape where it is the bond area."""

    quantity: str
    per: str
    ratio: EstimatePart
    slope: EstimatePart
    p_value: float
    n: int
    least: float
    greatest: float
    size_exponent: EstimatePart | None
    weakest_link: float | None
    agrees: bool | None


@dataclass(frozen=True, slots=True)
class Breaks:
    """Where the joints under one action broke, and what tests say of it."""

    shares: tuple[BreakShares, ...]
    test: BreakTest | None
    wood: tuple[WoodAgainstStrength, ...]


@dataclass(frozen=True, slots=True)
class SizedTrend:
    """A trend, and where it is one in bond area what it says of a weakest link."""

    trend: Trend
    size: SizeEffect | None


def estimate_part(estimate: Estimate) -> EstimatePart:
    """A number with its interval."""
    return EstimatePart(value=estimate.value, lower=estimate.lower, upper=estimate.upper)


def group_test_part(test: GroupTest) -> GroupTestPart:
    """A test over all combinations."""
    return GroupTestPart(
        name=test.name, asks=test.asks, statistic=test.statistic, degrees=test.degrees, p_value=test.p_value
    )


def variance_part(table: VarianceTable) -> VariancePart:
    """The table of variance."""
    return VariancePart(
        kind=table.kind,
        lines=tuple(
            VarianceLinePart(
                term=line.term,
                degrees=line.degrees,
                sum_of_squares=line.sum_of_squares,
                f=line.f,
                p_value=line.p_value,
            )
            for line in table.lines
        ),
        error_degrees=table.error_degrees,
        error_sum_of_squares=table.error_sum_of_squares,
        empty_cells=table.empty_cells,
    )


def homogeneity_part(found: Homogeneity, drift: Drift | None) -> HomogeneityPart:
    """Spreads, share of glue-ups, outliers, drift."""
    return HomogeneityPart(
        spreads=tuple(map(group_test_part, found.spreads)),
        batch_share=None if found.batch_share is None else _batch_share_part(found.batch_share),
        outliers=tuple(
            OutlierPart(combination=name, strength_mpa=one.strength_mpa, residual=one.residual, limit=one.limit)
            for name, one in found.outliers
        ),
        drift=None if drift is None else _drift_part(drift),
        findings=finding_parts(found.findings),
    )


def _batch_share_part(share: BatchShare) -> BatchSharePart:
    return BatchSharePart(
        glue_ups=share.glue_ups,
        n=share.n,
        share=estimate_part(share.share),
        ratio=estimate_part(share.ratio),
        f=share.f,
        p_value=share.p_value,
    )


def _drift_part(drift: Drift) -> DriftPart:
    return DriftPart(glue_ups=drift.glue_ups, ratio=estimate_part(drift.ratio), p_value=drift.p_value)


def breaks_part(breaks: Breaks) -> BreaksPart:
    """Where joints broke."""
    test = breaks.test
    return BreaksPart(
        combinations=tuple(_shares_part(share) for share in breaks.shares),
        test=None if test is None else BreakTestPart(p_value=test.p_value, tables=test.tables, exact=test.exact),
        wood_against_strength=tuple(
            WoodPart(combination=str(one.combination), n=one.n, correlation=one.correlation, p_value=one.p_value)
            for one in breaks.wood
        ),
        caution=WOOD_CAUTION,
    )


def _shares_part(share: BreakShares) -> SharesPart:
    return SharesPart(
        combination=str(share.combination),
        n=share.n,
        places=tuple(PlacePart(broke_at=place, n=number) for place, number in share.counts),
        unsaid=share.unsaid,
        outside=share.outside,
        wood_pct=share.wood_pct,
        cohesive_pct=share.cohesive_pct,
        adhesive_pct=share.adhesive_pct,
    )


def trend_part(sized: SizedTrend) -> TrendPart:
    """A trend with its interval."""
    trend, size = sized.trend, sized.size
    return TrendPart(
        quantity=trend.quantity,
        per=trend.per,
        ratio=estimate_part(trend.ratio),
        slope=estimate_part(trend.slope),
        p_value=trend.p_value,
        n=trend.n,
        least=trend.span[0],
        greatest=trend.span[1],
        size_exponent=None if size is None else estimate_part(size.exponent),
        weakest_link=None if size is None else size.weakest_link,
        agrees=None if size is None else size.agrees,
    )
