"""The command that plans tests."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from jointlab.app.cli.application import app

if TYPE_CHECKING:
    from jointlab.plan.values import TestPlan


@app.command(short_help="How many specimens, in what order.")
def plan(
    combinations: Annotated[
        list[str], typer.Option("--combination", help='"GLUE on SUBSTRATE (PREPARATION)"; repeat for two to six.')
    ],
    expected_mpa: Annotated[float, typer.Option("--expected_mpa", help="Median strength you suppose.")],
    glued_from: Annotated[str, typer.Option("--glued_from", help="ISO date of the first glue-up.")],
    hold_mpa: Annotated[float | None, typer.Option("--hold_mpa", help="Show that joints hold this.")] = None,
    difference_pct: Annotated[
        float | None, typer.Option("--difference_pct", help="See a difference of so many percent.")
    ] = None,
    spread_pct: Annotated[float, typer.Option("--spread_pct", help="Spread of joints you suppose.")] = 25.0,
    glue_ups: Annotated[int, typer.Option("--glue_ups", help="Glue-ups, each with every combination.")] = 2,
    cure_h: Annotated[float, typer.Option("--cure_h", help="From gluing to testing.")] = 168.0,
    name: Annotated[str, typer.Option("--name", help="Names of the glue-ups start with it.")] = "plan",
    control: Annotated[str | None, typer.Option("--control", help="Compare all others with this one.")] = None,
    seed: Annotated[int, typer.Option("--seed", help="Of the lot by which the orders are drawn.")] = 1,
    table: Annotated[
        Path | None, typer.Option("--table", metavar="FILE.csv", help="Write the table to fill and import.")
    ] = None,
) -> None:
    """Plan tests: specimens per combination, glue-ups, orders by lot, and what the plan can show."""
    from jointlab.app import planning
    from jointlab.app.cli.marking import busy
    from jointlab.plan.plan_tests import Terms

    wish = planning.wish_of(
        hold_mpa=hold_mpa, difference_pct=difference_pct, expected_mpa=expected_mpa, spread_pct=spread_pct
    )
    terms = Terms(name=name, glued_from=glued_from, cure_h=cure_h, glue_ups=glue_ups)
    with busy("working out the power"):
        made = planning.plan_for(combinations, wish=wish, terms=terms, seed=seed, control=control)
    _show(made)
    if table is not None:
        print(f"\nTable to fill and import: {planning.write_table(made, table)}")


def _show(made: TestPlan) -> None:
    from jointlab.app.cli.receipts import show_findings
    from jointlab.plan.bench_sheet import bench_sheets

    fit = made.rig_fit
    print(
        f"{made.specimens_each} specimens of each of {len(made.combinations)} combinations in {len(made.glue_ups)} "
        f"glue-ups: {made.chance:.0%} chance of success if what you suppose is true."
    )
    unit = "N m" if made.method.action == "twist" else "N"
    print(f"Expect loads of {fit.load_low:.0f} to {fit.load_high:.0f} {unit}, {fit.load_expected:.0f} in the middle.")
    show_findings(made.findings)
    sheets = bench_sheets(made)
    for sheet in sheets:
        print(f"\n{sheet.batch}: glue on {sheet.glued_on}, test on {sheet.tested_on}, in this order")
        for line in sheet.lines:
            print(f"  {line.tested_as:2d}. {line.code}  {line.combination}  (glued as number {line.glued_as})")
    print("\nCautions")
    for caution in sheets[0].cautions:
        print(f"  - {caution}")
