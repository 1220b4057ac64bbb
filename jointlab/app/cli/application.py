"""The application, its help in the order of the work, and the options that commands share."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from typer.core import TyperGroup

if TYPE_CHECKING:
    from pydantic import BaseModel

ORDER = (
    "demo",
    "plan",
    "rigs",
    "record",
    "import",
    "export",
    "pulls",
    "strength",
    "compare",
    "runout",
    "mount",
    "target",
    "decide",
    "mounts",
    "publish",
    "pool",
    "serve",
    "backup",
    "restore",
    "check",
)


class InWorkflowOrder(TyperGroup):
    """Lists the commands in the order of the work."""

    def list_commands(self, ctx: typer.Context) -> list[str]:  # type: ignore[override]  # typer's context is the one given
        """Names of the commands."""
        return [*ORDER, *sorted(set(super().list_commands(ctx)) - set(ORDER))]


app = typer.Typer(
    name="jointlab",
    cls=InWorkflowOrder,
    help="From a few pull-apart tests of glue joints to a decision: is this waste block strong enough to hold this "
    "blank on this lathe? An aid with stated assumptions; the lathe's manual and a qualified instructor come first.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
pulls_app = typer.Typer(
    help="List the pulls; correct, exclude or see the history of one.",
    invoke_without_command=True,
    rich_markup_mode=None,
)

BookOption = Annotated[
    str | None,
    typer.Option("--book", envvar="JOINTLAB_BOOK", metavar="PATH-or-URL", help="The shop book.", show_envvar=True),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]
ByOption = Annotated[
    str | None,
    typer.Option("--by", envvar="JOINTLAB_BY", metavar="NAME", help="Who did it, for the history; kept private."),
]
GlueOption = Annotated[str | None, typer.Option("--glue", help="Only this glue.")]
SubstrateOption = Annotated[str | None, typer.Option("--substrate", help="Only this substrate.")]
PreparationOption = Annotated[str | None, typer.Option("--preparation", help="Only this preparation.")]
ActionOption = Annotated[
    str | None, typer.Option("--action", metavar="[pull|pry|shear|twist]", help="Only this action.")
]
SetOption = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="section.key=value", help="Set a key on top of the file; may be repeated."),
]
MountFile = Annotated[Path, typer.Argument(metavar="FILE.toml", help="The mount.")]


def show_json(document: BaseModel) -> None:
    """Print one document on stdout."""
    sys.stdout.write(document.model_dump_json() + "\n")


def show_version(asked: bool) -> None:
    """Print the version and stop."""
    if asked:
        from jointlab import __version__

        print(f"jointlab {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=show_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Nothing to do before a command."""
