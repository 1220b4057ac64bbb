"""Comparisons as tables on the terminal."""

from __future__ import annotations

from collections.abc import Iterable

from rich.table import Table

from jointlab.app.cli.receipts import show_findings
from jointlab.app.cli.showing import add, console, shown, table_of
from jointlab.app.compare_parts import Breaks, SizedTrend
from jointlab.app.comparing import Compared, PlannedLook
from jointlab.compare.breaks import WOOD_CAUTION
from jointlab.compare.values import Comparison, Estimate
from jointlab.compare.variance_table import VarianceTable

SAID = "Combinations without a common letter are shown different; a common letter does not make them equal."


def show_comparisons(compared: Iterable[Compared], *, outlast: bool, interaction: bool, homogeneity: bool) -> None:
    """Each comparison: the combinations strongest first, what is shown of each pair, the analysis and why."""
    out = console()
    for one in compared:
        comparison = one.comparison
        out.print(_summaries(one.action, comparison))
        print(f"{SAID}\n")
        out.print(_effects(comparison))
        if outlast:
            out.print(_outlasting(comparison))
        print(f"\nAnalysis {comparison.analysis}: {comparison.reason}")
        if comparison.others:
            print(f"Others that could be asked for with --analysis: {', '.join(comparison.others)}.")
        if one.left_out:
            print(f"Left out, too few usable pulls: {'; '.join(map(str, one.left_out))}.")
        show_findings(comparison.findings)
        if interaction:
            _show_interaction(comparison)
        if homogeneity:
            _show_homogeneity(one)
        if one.breaks is not None:
            _show_breaks(one.breaks)
        if one.trend is not None:
            _show_trend(one.trend)
        if one.trendless is not None:
            print(f"\nNo trend: {one.trendless}")
        print()


def show_look(look: PlannedLook) -> None:
    """Which look this is, and what it may be taken for."""
    plan = look.plan
    print(
        f"Look {look.number} of {plan.planned_looks} of the plan {plan.name}: intervals hold at once with "
        f"{plan.confidence_at_look:.2%}, this look's share of the doubt."
    )
    if not look.due:
        print(
            "No look is due yet: its glue-up is not whole. Looked at now, the later look loses what it was planned for."
        )
    print()


def _summaries(action: str, comparison: Comparison) -> Table:
    columns = ("combination", "pulls", "held", "batches", "median MPa", "spread", "letters")
    table = table_of(f"Compared under {action}", *columns, numbers=columns[1:6])
    for one in comparison.summaries:
        add(
            table, str(one.combination), str(one.n), str(one.n_held), str(one.batches), shown(one.median_mpa),
            f"{one.log_sd:.0%}", one.letters,
        )  # fmt: skip
    return table


def _effects(comparison: Comparison) -> Table:
    title = f"Ratios of median strengths, all {comparison.confidence:.0%} intervals holding at once"
    table = table_of(title, "combination", "against", "ratio", "interval", "what the pulls show", numbers=["ratio"])
    for effect in comparison.effects:
        add(
            table, str(effect.combination), str(effect.against), shown(effect.ratio.value), _interval(effect.ratio),
            effect.shown,
        )  # fmt: skip
    return table


def _outlasting(comparison: Comparison) -> Table:
    title = "\nChance that a joint of the one outlasts one of the other; ratio of the lower 5th percentiles"
    table = table_of(title, "combination", "against", "outlasts", "interval", "5th percentiles", "interval")
    for effect in comparison.effects:
        chance, low = effect.chance_outlasts, effect.low_ratio
        add(
            table, str(effect.combination), str(effect.against), "-" if chance is None else f"{chance.value:.0%}",
            "-" if chance is None else _percents(chance), "-" if low is None else shown(low.value),
            "-" if low is None else _interval(low),
        )  # fmt: skip
    return table


def _interval(estimate: Estimate) -> str:
    return f"{shown(estimate.lower)} to {shown(estimate.upper)}"


def _show_interaction(comparison: Comparison) -> None:
    out = console()
    print()
    if comparison.table is None:
        print("No table of variance: some strengths are censored, or nothing is left over for error.")
    else:
        out.print(_variance(comparison.table))
        print(f"Sums of squares of {comparison.table.kind}.")
        if comparison.table.empty_cells:
            print(f"{comparison.table.empty_cells} combinations were not tested: the interaction is of the others.")
    if comparison.tests:
        out.print()
        table = table_of("Tests over all combinations at once", "test", "asks", "statistic", "p", numbers=["statistic"])
        for test in comparison.tests:
            add(table, test.name, test.asks, shown(test.statistic, 4), shown(test.p_value, 2))
        out.print(table)


def _variance(table: VarianceTable) -> Table:
    columns = ("term", "degrees", "sum of squares", "F", "p")
    shown_as = table_of("Variance of ln strength", *columns, numbers=columns[1:])
    for line in table.lines:
        add(
            shown_as, line.term, str(line.degrees), shown(line.sum_of_squares, 4), shown(line.f, 4),
            shown(line.p_value, 2),
        )  # fmt: skip
    add(shown_as, "left over", str(table.error_degrees), shown(table.error_sum_of_squares, 4), "", "")
    return shown_as


def _show_homogeneity(one: Compared) -> None:
    found = one.homogeneity
    print("\nOf one piece?")
    for test in found.spreads:
        print(f"  {test.name}: {test.statistic:.3g}, p {test.p_value:.2g} ({test.asks})")
    share = found.batch_share
    if share is None:
        print("  No combination has several pulls in each of several glue-ups: their share cannot be seen.")
    else:
        print(
            f"  Glue-ups make {share.share.value:.0%} of the variance of ln strength ({_percents(share.share)}), "
            f"p {share.p_value:.2g} that they make none."
        )
    if one.drift is not None:
        print(
            f"  The control changes by a factor of {shown(one.drift.ratio.value)} from one glue-up to the next "
            f"({_interval(one.drift.ratio)}), p {one.drift.p_value:.2g}."
        )
    show_findings(found.findings, indent="  ")
    if not found.findings:
        print("  No strength lies so far out that it should be asked after.")


def _percents(estimate: Estimate) -> str:
    lower, upper = (shown(None if end is None else 100.0 * end, 2) for end in (estimate.lower, estimate.upper))
    return f"{lower} to {upper} %"


def _show_breaks(breaks: Breaks) -> None:
    table = table_of(
        "\nWhere joints broke", "combination", "pulls", "places", "wood %", "adhesive %", numbers=["pulls"]
    )
    for share in breaks.shares:
        places = [f"{place} {number}" for place, number in share.counts]
        places += [f"outside the joint {share.outside}"] * bool(share.outside)
        places += [f"not said {share.unsaid}"] * bool(share.unsaid)
        add(
            table, str(share.combination), str(share.n), ", ".join(places), shown(share.wood_pct, 2),
            shown(share.adhesive_pct, 2),
        )  # fmt: skip
    console().print(table)
    test = breaks.test
    if test is not None:
        how = "every table looked at" if test.exact else f"{test.tables} tables drawn"
        print(f"Do they break in different places? p {test.p_value:.2g} (exact test, {how}).")
    for one in breaks.wood:
        print(
            f"Wood failure and strength, {one.combination}: rank correlation {one.correlation:.2f}, "
            f"p {one.p_value:.2g}."
        )
    print(WOOD_CAUTION)


def _show_trend(sized: SizedTrend) -> None:
    trend = sized.trend
    print(
        f"\n{trend.per}: strength times {shown(trend.ratio.value)} ({_interval(trend.ratio)}), p {trend.p_value:.2g} "
        f"of no trend; {trend.n} pulls between {trend.span[0]:.4g} and {trend.span[1]:.4g}, nothing is said beyond."
    )
    if sized.size is not None:
        size = sized.size
        agrees = "agrees" if size.agrees else "does not agree"
        print(
            f"Size exponent {shown(size.exponent.value, 2)} ({_interval(size.exponent)}): it {agrees} with "
            f"{size.weakest_link:.2g} of a weakest link."
        )
