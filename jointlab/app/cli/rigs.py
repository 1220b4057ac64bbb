"""The commands that keep the rigs of the shop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from jointlab.app.cli.application import BookOption, ByOption, app

if TYPE_CHECKING:
    from jointlab.app.rigging import KeptRig

rigs_app = typer.Typer(
    help="The shop's rigs: kind, ratio or arm, tare, zero, cap, step, last check.",
    invoke_without_command=True,
    rich_markup_mode=None,
)
app.add_typer(rigs_app, name="rigs", short_help="What readings are taken with.")

RigName = Annotated[str, typer.Argument(metavar="NAME", help="Of the rig.")]
_ANY_COLUMN = {"allow_extra_args": True, "ignore_unknown_options": True}


@rigs_app.callback()
def rigs(ctx: typer.Context, book: BookOption = None) -> None:
    """List the rigs; keep, check or see the history of one."""
    if ctx.invoked_subcommand is not None:
        return
    from jointlab.app import rigging
    from jointlab.app.publishing import today

    kept = rigging.kept_rigs(book, today=today())
    for each in kept:
        _show(each)
    if not kept:
        print("No rig is kept yet: jointlab rigs keep NAME --kind scale_in_line --capacity_kgf 50 --resolution_kgf 0.1")


@rigs_app.command("keep", context_settings=_ANY_COLUMN, options_metavar="--kind KIND --COLUMN VALUE...")
def keep(
    ctx: typer.Context,
    name: RigName,
    reason: Annotated[str | None, typer.Option("--reason", help="Why a known rig is changed.")] = None,
    book: BookOption = None,
    by: ByOption = None,
) -> None:
    """Keep a rig, or change the columns given of one that is known; an empty value clears a column.

    --kind scale_in_line, lever, bar_and_scale, weights_in_steps, jack_and_gauge or torque_wrench; --ratio, --class_pct,
    --notes; --capacity_*, --resolution_*, --zero_* and --step_* in a unit of the reading, --tare_* in one of the load,
    --arm_* in one of length.
    """
    from jointlab.app import rigging
    from jointlab.app.cli.flags import cells_of
    from jointlab.app.publishing import today

    _show(rigging.keep_rig(book, name, cells_of(ctx.args), today=today(), reason=reason, by=by))


@rigs_app.command("check", context_settings=_ANY_COLUMN, options_metavar="--known_UNIT X --shown_UNIT Y")
def check_rig(
    ctx: typer.Context,
    name: RigName,
    dated: Annotated[str | None, typer.Option("--date", help="ISO date of the check; today if left out.")] = None,
    book: BookOption = None,
    by: ByOption = None,
) -> None:
    """Keep what a rig showed of something known, such as --known_kg 20 --shown_kg 20.1."""
    from jointlab.app import rigging
    from jointlab.app.cli.flags import cells_of
    from jointlab.app.publishing import today

    cells = cells_of(ctx.args)
    _show(rigging.check_rig(book, name, cells, checked_on=dated or today(), today=today(), by=by))


@rigs_app.command("history")
def rigs_history(name: RigName, book: BookOption = None) -> None:
    """Show every state of a rig, oldest first."""
    from jointlab.app import rigging
    from jointlab.app.saying import rig_words

    for revision in rigging.rig_history(book, name):
        who = f" by {revision.by}" if revision.by else ""
        why = f": {revision.reason}" if revision.reason else ""
        print(f"revision {revision.revision}, {revision.recorded_at[:19]}{who}{why}")
        print(f"    {rig_words(revision.rig)}")


def _show(kept: KeptRig) -> None:
    from jointlab.app.cli.receipts import show_findings
    from jointlab.app.saying import rig_words

    print(f"{kept.stored.rig.name}, revision {kept.stored.revision}: {rig_words(kept.stored.rig)}")
    show_findings(kept.findings, indent="    ")
