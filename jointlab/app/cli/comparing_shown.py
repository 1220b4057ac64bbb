"""Comparisons as tables on the terminal."""

from __future__ import annotations

from collections.abc import Iterable

from rich.table import Table

from jointlab.app.cli.receipts import show_findings
from jointlab.app.cli.showing import add, console, shown, table_of
from jointlab.app.comparing import Compared
from jointlab.compare.values import Comparison, Estimate

SAID = "Combinations without a common letter are shown different; a common letter does not make them equal."


def show_comparisons(compared: Iterable[Compared]) -> None:
    """Each comparison: the combinations strongest first, what is shown of each pair, the analysis and why."""
    out = console()
    for one in compared:
        comparison = one.comparison
        out.print(_summaries(one.action, comparison))
        print(f"{SAID}\n")
        out.print(_effects(comparison))
        print(f"\nAnalysis {comparison.analysis}: {comparison.reason}")
        if comparison.others:
            print(f"Others that could be asked for with --analysis: {', '.join(comparison.others)}.")
        if one.left_out:
            print(f"Left out, too few usable pulls: {'; '.join(map(str, one.left_out))}.")
        show_findings(comparison.findings)
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


def _interval(estimate: Estimate) -> str:
    return f"{shown(estimate.lower)} to {shown(estimate.upper)}"
