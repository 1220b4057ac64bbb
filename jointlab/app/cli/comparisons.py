"""The command that compares combinations."""

from __future__ import annotations

from typing import Annotated

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
    confidence: Annotated[float, typer.Option("--confidence", help="With which all intervals hold at once.")] = 0.95,
    as_json: JsonOption = False,
) -> None:
    """Say which glues and substrates are shown to differ, by what ratio, all intervals holding at once."""
    from jointlab.app import comparing
    from jointlab.app.cli.flags import selection_of, share_of
    from jointlab.app.cli.marking import busy

    with busy("comparing"):
        compared = comparing.compare_in(
            book,
            selection_of(glue, substrate, preparation, action),
            control=control,
            analysis=analysis,
            confidence=share_of("--confidence", confidence),
        )
    if as_json:
        show_json(comparing.compare_document(compared))
    else:
        from jointlab.app.cli.comparing_shown import show_comparisons

        show_comparisons(compared)
