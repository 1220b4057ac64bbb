"""The command that says what the lathe asks of a mount."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from jointlab.app.cli.application import JsonOption, MountFile, SetOption, app, show_json


@app.command(short_help="What the lathe asks of every link.")
def mount(
    file: MountFile,
    settings: SetOption = None,
    thickness: Annotated[
        Path | None,
        typer.Option("--thickness", metavar="FILE.csv", help="The blank's thickness around, for its balance."),
    ] = None,
    density_pct: Annotated[
        float | None, typer.Option("--density_pct", help="Its halves so much denser and lighter than the whole.")
    ] = None,
    missing: Annotated[
        tuple[float, float] | None,
        typer.Option("--missing", metavar="KG MM", help="A piece missing so far from the axis."),
    ] = None,
    added: Annotated[
        tuple[float, float] | None,
        typer.Option("--added", metavar="KG MM", help="A mass so far from the axis that balances it."),
    ] = None,
    envelope: Annotated[bool, typer.Option("--envelope", help="Show also what other sizes would be asked.")] = False,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Draw the mount to scale (.svg or .png).")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Work out what the lathe asks of every link of a mount."""
    from jointlab.app import enveloping, offsets, workflow
    from jointlab.app.cli.flags import measured_of
    from jointlab.mount.mount_demand import mount_demand

    described = workflow.mount_setup(file, settings or ())
    offset = offsets.offset_of(described, measured_of(thickness, density_pct, missing, added))
    setup = offsets.with_offset(described, offset)
    demand = mount_demand(setup)
    if plot is not None:
        enveloping.plot_section(setup, plot)
    if as_json:
        from jointlab.app.answers import mount_document

        show_json(mount_document(demand))
        return
    from jointlab.app.cli.showing import show_asked, show_assumptions, show_holds, show_mount
    from jointlab.mount.holds import holds_of

    if offset is not None:
        print(f"Centre of mass {offset.offset_mm:.2g} mm off the axis, {offset.told}.")
        print(f"To keep it, write offset_mm = {offset.offset_mm:.2g} in [blank].\n")
    show_mount(demand)
    if envelope:
        show_asked(enveloping.asked_around(setup), setup)
    show_assumptions(setup)
    show_holds(holds_of(setup))
