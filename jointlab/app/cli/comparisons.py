"""The command that compares combinations."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from jointlab.app.cli.application import (
    ActionOption,
    BookOption,
    GlueOption,
    JsonOption,
    PreparationOption,
    SubstrateOption,
    app,
    show_json,
)

if TYPE_CHECKING:
    from jointlab.app.comparing import Drawing


@app.command(short_help="Which combinations are shown to differ.")
def compare(
    book: BookOption = None,
    glue: GlueOption = None,
    substrate: SubstrateOption = None,
    preparation: PreparationOption = None,
    action: ActionOption = None,
    control: Annotated[
        str | None, typer.Option("--control", help='Compare all others with this one, written "GLUE on SUBSTRATE".')
    ] = None,
    analysis: Annotated[
        str | None, typer.Option("--analysis", help="Use this analysis in place of the recommended one.")
    ] = None,
    confidence: Annotated[
        float | None, typer.Option("--confidence", help="With which all intervals hold at once; 0.95.")
    ] = None,
    plan: Annotated[
        str | None,
        typer.Option("--plan", metavar="NAME", help="Compare the pulls of a plan at its planned look, filters aside."),
    ] = None,
    outlast: Annotated[
        bool, typer.Option("--outlast", help="Show the chance that a joint of one outlasts one of the other.")
    ] = False,
    interaction: Annotated[
        bool, typer.Option("--interaction", help="Show glue by substrate: table of variance, tests over all.")
    ] = False,
    homogeneity: Annotated[
        bool, typer.Option("--homogeneity", help="Show spreads, share of glue-ups, outliers, drift of a control.")
    ] = False,
    breaks: Annotated[bool, typer.Option("--breaks", help="Show where joints broke.")] = False,
    trend: Annotated[
        str | None,
        typer.Option("--trend", metavar="COLUMN", help="Show how strength changes with cure_h, gap_mm, area_mm2 ..."),
    ] = None,
    plot: Annotated[
        Path | None,
        typer.Option("--plot", metavar="FILE", help="Write a figure (.svg or .png): effects, or what a flag shows."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say which glues and substrates are shown to differ, by what ratio, all intervals holding at once."""
    from jointlab.app import comparing
    from jointlab.app.cli.flags import none_of, selection_of, share_of
    from jointlab.app.cli.marking import busy

    look = None
    also = frozenset([comparing.Also.BREAKS] if breaks else [])
    quantity = comparing.trend_quantity(trend)
    with busy("comparing"):
        if plan is not None:
            none_of("--plan", {"--control": control, "--confidence": confidence})
            look, compared = comparing.compare_at_look(book, plan, analysis=analysis, also=also, trend=quantity)
        else:
            selection = selection_of(glue, substrate, preparation, action)
            sure = share_of("--confidence", 0.95 if confidence is None else confidence)
            compared = comparing.compare_in(
                book, selection, control=control, analysis=analysis, confidence=sure, also=also, trend=quantity
            )
    if plot is not None:
        comparing.plot_comparison(compared, plot, drawing=_drawing(interaction, breaks, trend is not None))
    if as_json:
        show_json(comparing.compare_document(compared, look))
    else:
        from jointlab.app.cli.comparing_shown import show_comparisons, show_look

        if look is not None:
            show_look(look)
        show_comparisons(compared, outlast=outlast, interaction=interaction, homogeneity=homogeneity)


def _drawing(interaction: bool, breaks: bool, trend: bool) -> Drawing:
    """The figure that the flags ask for, the last of them where there are several."""
    from jointlab.app.comparing import Drawing

    asked = ((trend, Drawing.TREND), (breaks, Drawing.BREAKS), (interaction, Drawing.INTERACTION))
    return next((drawing for wanted, drawing in asked if wanted), Drawing.EFFECTS)
