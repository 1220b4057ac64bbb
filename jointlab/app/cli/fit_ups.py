"""The command that says how true a face is."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from jointlab.app.cli.application import JsonOption, app, show_json


@app.command(short_help="Tilt, warp and gap of a face.")
def runout(
    file: Annotated[Path, typer.Argument(metavar="FILE.csv", help="Readings around the face, one a row.")],
    after: Annotated[
        Path | None, typer.Option("--after", metavar="FILE.csv", help="The same face on the same mount, read again.")
    ] = None,
    stage: Annotated[
        str | None, typer.Option("--stage", metavar="[mounting|roughing|remounting]", help="What happened in between.")
    ] = None,
    radius_mm: Annotated[
        float | None, typer.Option("--radius_mm", help="Radius of the readings, where the file has no column of it.")
    ] = None,
    blank_diameter_mm: Annotated[
        float | None, typer.Option("--blank_diameter_mm", help="Diameter of the blank, for the wobble of its rim.")
    ] = None,
    glue_family: Annotated[
        str | None, typer.Option("--glue_family", help="Family of the glue, for the gap it bridges.")
    ] = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Write a figure (.svg or .png) of the readings.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Work out how true a face is, from thickness or runout readings at places around it, and whether it has moved."""
    from jointlab.app import fit_ups
    from jointlab.app.cli.flags import glue_family_of, length_of, stage_of

    face = fit_ups.read_face(
        file,
        after=after,
        stage=stage_of(stage, after),
        radius_mm=length_of("--radius_mm", radius_mm),
        blank_diameter_mm=length_of("--blank_diameter_mm", blank_diameter_mm),
        glue_family=glue_family_of(glue_family),
    )
    if plot is not None:
        fit_ups.plot_face(face, plot)
    if as_json:
        from jointlab.app.answers import runout_document

        show_json(runout_document(face))
    else:
        from jointlab.app.cli.receipts import show_face

        show_face(face)
