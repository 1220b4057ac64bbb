"""The commands that plan tests and follow a plan up."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from jointlab.app.cli.application import BookOption, ByOption, JsonOption, app, show_json

if TYPE_CHECKING:
    from jointlab.plan.values import TestPlan

plan_app = typer.Typer(
    help="Plan tests: specimens per combination, glue-ups, orders by lot, and what the plan can show.",
    invoke_without_command=True,
    rich_markup_mode=None,
)
app.add_typer(plan_app, name="plan", short_help="How many specimens, in what order.")

OutOption = Annotated[
    Path | None, typer.Option("--out", metavar="DIR", help="Write bench sheets (PDF) and the table to fill there.")
]
PlotOption = Annotated[
    Path | None, typer.Option("--plot", metavar="FILE", help="Write a figure (.svg or .png) of the chance of success.")
]


@plan_app.callback()
def plan(
    ctx: typer.Context,
    combinations: Annotated[
        list[str] | None,
        typer.Option("--combination", help='"GLUE on SUBSTRATE (PREPARATION)"; repeat for two to six.'),
    ] = None,
    expected_mpa: Annotated[float | None, typer.Option("--expected_mpa", help="Median strength you suppose.")] = None,
    glued_from: Annotated[str | None, typer.Option("--glued_from", help="ISO date of the first glue-up.")] = None,
    hold_mpa: Annotated[float | None, typer.Option("--hold_mpa", help="Show that joints hold this.")] = None,
    difference_pct: Annotated[
        float | None, typer.Option("--difference_pct", help="See a difference of so many percent.")
    ] = None,
    spread_pct: Annotated[float, typer.Option("--spread_pct", help="Spread of joints you suppose.")] = 25.0,
    glue_ups: Annotated[int, typer.Option("--glue_ups", help="Glue-ups, each with every combination.")] = 2,
    each: Annotated[
        int | None, typer.Option("--each", help="Specimens of a combination in a glue-up; 6 where nothing is wished.")
    ] = None,
    looks: Annotated[
        int | None, typer.Option("--looks", help="Looks at the evidence, each after a whole glue-up.")
    ] = None,
    days_between: Annotated[int, typer.Option("--days_between", help="From one glue-up to the next.")] = 1,
    cure_h: Annotated[float, typer.Option("--cure_h", help="From gluing to testing.")] = 168.0,
    action: Annotated[str, typer.Option("--action", metavar="[pull|pry|shear|twist]", help="How to test.")] = "pry",
    diameter_mm: Annotated[float | None, typer.Option("--diameter_mm", help="Of a round specimen; 50.")] = None,
    hole_mm: Annotated[float | None, typer.Option("--hole_mm", help="Relieved in the middle: a ring.")] = None,
    width_mm: Annotated[float | None, typer.Option("--width_mm", help="Of a rectangular specimen.")] = None,
    depth_mm: Annotated[float | None, typer.Option("--depth_mm", help="Its side along the prying direction.")] = None,
    arm_mm: Annotated[float | None, typer.Option("--arm_mm", help="Of a pry: glue line to line of pull; 300.")] = None,
    rig: Annotated[str | None, typer.Option("--rig", help="A rig of the book; its only one if not named.")] = None,
    name: Annotated[
        str | None, typer.Option("--name", help="Keep the plan in the book; its glue-ups are named after it.")
    ] = None,
    control: Annotated[str | None, typer.Option("--control", help="Compare all others with this one.")] = None,
    seed: Annotated[int, typer.Option("--seed", help="Of the lot by which the orders are drawn.")] = 1,
    reason: Annotated[str | None, typer.Option("--reason", help="Why a kept plan is changed.")] = None,
    out: OutOption = None,
    table: Annotated[
        Path | None, typer.Option("--table", metavar="FILE.csv", help="Write the table to fill and import.")
    ] = None,
    plot: PlotOption = None,
    book: BookOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Plan tests: specimens per combination, glue-ups, orders by lot, and what the plan can show."""
    if ctx.invoked_subcommand is not None:
        return
    from jointlab.app import planning
    from jointlab.app.cli.flags import action_of, needed
    from jointlab.app.cli.marking import busy

    needed({"--combination": combinations, "--expected_mpa": expected_mpa, "--glued_from": glued_from})
    assert combinations is not None
    assert expected_mpa is not None
    assert glued_from is not None
    words = planning.PlanWords(
        tuple(combinations), expected_mpa, glued_from, hold_mpa=hold_mpa, difference_pct=difference_pct,
        spread_pct=spread_pct, glue_ups=glue_ups, days_between=days_between, cure_h=cure_h, looks=looks, each=each,
        name=name, control=control, rig=rig, action=action_of(action), diameter_mm=diameter_mm, hole_mm=hole_mm,
        width_mm=width_mm, depth_mm=depth_mm, arm_mm=arm_mm, seed=seed,
    )  # fmt: skip
    with busy("working out the power"):
        made = planning.planned(book, words)
    kept = None if name is None else planning.keep_plan(book, made, reason=reason, by=by)
    written = _written(made, out, table, plot)
    if as_json:
        from jointlab.app.plan_documents import plan_document

        show_json(plan_document(made))
        return
    from jointlab.app.cli.plans_shown import show_plan

    show_plan(made, planning.doubts_left_for(book, made))
    print("\nNot kept: --name NAME keeps a plan in the book." if kept is None else f"\nKept in the book: {kept.key}.")
    _tell(written)


@plan_app.command("list")
def list_plans(book: BookOption = None, as_json: JsonOption = False) -> None:
    """List the plans of the book and how far their pulls have come."""
    from jointlab.app import planning

    kept = planning.kept_plans(book)
    if as_json:
        from jointlab.app.plan_documents import plans_document

        show_json(plans_document(kept))
    else:
        from jointlab.app.cli.plans_shown import show_plans

        show_plans(kept)


@plan_app.command("show")
def show(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Of the plan.")],
    book: BookOption = None,
    out: OutOption = None,
    plot: PlotOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a plan of the book: what is pulled, what is left, what was done otherwise than planned."""
    from jointlab.app import planning

    kept = planning.kept_plan(book, name)
    written = _written(kept.plan, out, None, plot)
    if as_json:
        from jointlab.app.plan_documents import plan_document

        show_json(plan_document(kept.plan, kept.progress))
    else:
        from jointlab.app.cli.plans_shown import show_kept

        show_kept(kept, planning.doubts_left_for(book, kept.plan))
        _tell(written)


def _written(made: TestPlan, out: Path | None, table: Path | None, plot: Path | None) -> list[tuple[str, Path]]:
    """Write what was asked for; gives what each file is."""
    from jointlab.app import planning
    from jointlab.app.publishing import today

    written: list[tuple[str, Path]] = []
    if out is not None:
        sheets, to_fill = planning.write_sheets(made, out, dated_on=today())
        written += [("Bench sheets", sheets), ("Table to fill and import", to_fill)]
    if table is not None:
        written.append(("Table to fill and import", planning.write_table(made, table)))
    if plot is not None:
        written.append(("Chance of success", planning.plot_power(made, plot)))
    return written


def _tell(written: list[tuple[str, Path]]) -> None:
    for what, path in written:
        print(f"{what}: {path}")
