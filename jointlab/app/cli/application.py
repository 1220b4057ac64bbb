"""The application, its help in the order of the work, and the options that commands share."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

if TYPE_CHECKING:
    from pydantic import BaseModel

COMMANDS = {
    "demo": ("commands", "The whole job once, on invented data."),
    "plan": ("plans", "How many specimens, in what order."),
    "rigs": ("rigs", "What readings are taken with."),
    "record": ("commands", "Store one pull."),
    "import": ("commands", "Store the pulls of a CSV file or workbook."),
    "export": ("commands", "Write pulls as CSV or a workbook."),
    "pulls": ("commands", "List, correct or exclude pulls."),
    "strength": ("commands", "What strength joints can be relied on for."),
    "compare": ("comparisons", "Which combinations are shown to differ."),
    "runout": ("fit_ups", "Tilt, warp and gap of a face."),
    "mount": ("demands", "What the lathe asks of every link."),
    "target": ("targets", "What a coupon must hold for a mount."),
    "decide": ("commands", "The verdict: pass, fail or undecided."),
    "mounts": ("mounts", "What became of each mount."),
    "publish": ("commands", "Page, PDF and data others can check."),
    "pool": ("pool", "Results of several shops together."),
    "serve": ("serving", "The web app, on this computer or for a phone."),
    "backup": ("commands", "Write the book to a new file."),
    "restore": ("commands", "Make a book from a backup."),
    "check": ("commands", "Look through the book for damage."),
}
"""Every command in the order of the work: the file that holds it and what it does, so that help reads none of them."""

ORDER = tuple(COMMANDS)


class InWorkflowOrder(TyperGroup):
    """Lists the commands in the order of the work."""

    def list_commands(self, ctx: typer.Context) -> list[str]:  # type: ignore[override]  # typer's context is the one given
        """Names of the commands."""
        known = super().list_commands(ctx)
        return [*(name for name in COMMANDS if name in known), *sorted(set(known) - set(COMMANDS))]


def _bare() -> typer.Typer:
    """The application without its commands."""
    bare = typer.Typer(
        name="jointlab",
        cls=InWorkflowOrder,
        help="From a few pull-apart tests of glue joints to a decision: is this waste block strong enough to hold "
        "this blank on this lathe? An aid with stated assumptions; the lathe's manual and a qualified instructor come "
        "first.",
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    bare.callback()(_root)
    return bare


def _show_version(asked: bool) -> None:
    if asked:
        from jointlab import __version__

        print(f"jointlab {__version__}")
        raise typer.Exit


def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Nothing to do before a command."""


app = _bare()
"""Holds every command once the files of all of them are loaded."""

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


def show_json_text(pieces: Iterable[str]) -> None:
    """Print one document that comes piece by piece: nothing of it until it is whole, should it be refused half-way."""
    import shutil
    from tempfile import TemporaryFile

    with TemporaryFile("w+", encoding="utf-8", newline="") as aside:
        aside.writelines(pieces)
        aside.seek(0)
        shutil.copyfileobj(aside, sys.stdout)
    sys.stdout.write("\n")


def application_for(words: Sequence[str]) -> typer.Typer:
    """The application with as much of it as these words need: one command, its list, or all of it.

    Building a command takes milliseconds, and there are dozens: a pull is stored without those of all the others.
    """
    if words and words[0] in COMMANDS:
        return _with_one(words[0])
    if all(word in ("-h", "--help", "--version") for word in words):
        return _list_only()
    for file, _ in COMMANDS.values():
        import_module(f"jointlab.app.cli.{file}")
    return app


def _with_one(name: str) -> typer.Typer:
    import_module(f"jointlab.app.cli.{COMMANDS[name][0]}")
    alone = _bare()
    alone.registered_commands = [one for one in app.registered_commands if name == (one.name or _called(one))]
    alone.registered_groups = [one for one in app.registered_groups if one.name == name]
    return alone


def _called(command: Any) -> str:
    return str(command.callback.__name__)


def _list_only() -> typer.Typer:
    listing = _bare()
    for name, (_, told) in COMMANDS.items():
        listing.command(name, short_help=told)(_nothing)
    return listing


def _nothing() -> None:
    """Stand for a command in the list of them."""
