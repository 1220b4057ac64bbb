"""The commands of the field record: what became of each mount, beside what was said of it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from jointlab.app.cli.application import BookOption, ByOption, JsonOption, MountFile, SetOption, app, show_json

if TYPE_CHECKING:
    from jointlab.app.mounting import PriedOff
    from jointlab.mount.setup import CatchClass
    from jointlab.verdict.field_record import FieldRecord

mounts_app = typer.Typer(
    help="What became of each mount: taken up with its verdict, proofed, followed, ended. Never entered as a strength.",
    invoke_without_command=True,
    rich_markup_mode=None,
)
app.add_typer(mounts_app, name="mounts", short_help="What became of each mount.")

NameArgument = Annotated[str, typer.Argument(metavar="NAME", help="Of the mount.")]
PhotoOption = Annotated[
    list[Path] | None, typer.Option("--photo", metavar="FILE", help="A photo to keep with it; may be repeated.")
]
NoteOption = Annotated[str, typer.Option("--note", help="Anything else.")]


@mounts_app.callback()
def mounts(
    ctx: typer.Context,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Write a figure (.svg or .png) of it.")
    ] = None,
    book: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Predicted against happened, a line for each mount of the book."""
    if ctx.invoked_subcommand is not None:
        return
    from jointlab.app import mounting

    records = mounting.field_records(book)
    _show(records, as_json=as_json)
    if plot is not None:
        mounting.plot_happened(records, plot)


def _show(records: tuple[FieldRecord, ...], *, as_json: bool) -> None:
    if as_json:
        from jointlab.app.mount_documents import mounts_document

        show_json(mounts_document(records))
    else:
        from jointlab.app.cli.mounts_shown import show_mounts

        show_mounts(records)


@mounts_app.command("start")
def start(
    file: MountFile,
    name: Annotated[str | None, typer.Option("--name", help="Of the mount; a number if not given.")] = None,
    settings: SetOption = None,
    photo: PhotoOption = None,
    reason: Annotated[str | None, typer.Option("--reason", help="Why a mount of that name is decided anew.")] = None,
    book: BookOption = None,
    by: ByOption = None,
) -> None:
    """Take a mount up with the verdict it has now."""
    from jointlab.app import mounting
    from jointlab.app.cli.marking import busy
    from jointlab.app.cli.mounts_shown import show_started

    with busy("weighing the tests against the lathe"):
        started = mounting.start_mount(book, file, settings or (), name=name, photos=photo or (), reason=reason, by=by)
    show_started(started)


@mounts_app.command("proof")
def proof(
    name: NameArgument,
    factor: Annotated[
        float | None, typer.Option("--factor", help="Times the named catch; the required margin if not given.")
    ] = None,
    load_kgf: Annotated[float | None, typer.Option("--load_kgf", help="What the scale on the bar showed.")] = None,
    load_n: Annotated[float | None, typer.Option("--load_n", help="The same in newtons.")] = None,
    height_mm: Annotated[float | None, typer.Option("--height_mm", help="Bar above the glue line.")] = None,
    bar_mm: Annotated[float | None, typer.Option("--bar_mm", help="Along the bar: axis to line of pull.")] = None,
    directions: Annotated[int, typer.Option("--directions", help="How many, a quarter turn apart.")] = 4,
    held: Annotated[
        bool | None, typer.Option("--held/--failed", help="Failed: a tick, a line, a gap, or it came off.")
    ] = None,
    photo: PhotoOption = None,
    book: BookOption = None,
    by: ByOption = None,
) -> None:
    """Tell how to proof a mount; with what was pulled and whether it held, take the proof down and decide anew."""
    from jointlab.app import mounting
    from jointlab.app.cli.flags import needed
    from jointlab.app.cli.mounts_shown import show_proof, show_proof_plan

    load = load_n if load_kgf is None else load_kgf * _newtons_per_kgf()
    if held is None and load is None:
        show_proof_plan(mounting.proof_for(book, name, factor=factor))
        return
    needed({"--load_kgf": load, "--height_mm": height_mm, "--bar_mm": bar_mm, "--held or --failed": held})
    assert load is not None
    assert height_mm is not None
    assert bar_mm is not None
    assert held is not None
    pulled = mounting.ProofPulled(load, height_mm, bar_mm, directions, held)
    show_proof(*mounting.keep_proof(book, name, pulled, photos=photo or (), by=by))


def _newtons_per_kgf() -> float:
    from jointlab.units import STANDARD_GRAVITY_M_S2

    return STANDARD_GRAVITY_M_S2


@mounts_app.command("event")
def event(
    name: NameArgument,
    phase: Annotated[
        str | None,
        typer.Option("--phase", metavar="[roughing|shaping|hollowing|sanding|finishing|remounting|resting]"),
    ] = None,
    hours: Annotated[float, typer.Option("--hours", help="Turned since the last one.")] = 0.0,
    top_rpm: Annotated[float | None, typer.Option("--top_rpm", help="Highest speed.")] = None,
    light: Annotated[int, typer.Option("--light", help="Light catches.")] = 0,
    firm: Annotated[int, typer.Option("--firm", help="Firm catches.")] = 0,
    severe: Annotated[int, typer.Option("--severe", help="Severe catches.")] = 0,
    inspected: Annotated[
        str | None, typer.Option("--inspected", metavar="[sound|changed]", help="What a look at the joint showed.")
    ] = None,
    note: NoteOption = "",
    photo: PhotoOption = None,
    book: BookOption = None,
    by: ByOption = None,
) -> None:
    """Take down what happened: a phase, hours, top speed, catches by class, a look at the joint."""
    from jointlab.app import mounting
    from jointlab.app.cli.flags import word_or_none
    from jointlab.app.cli.mounts_shown import show_event
    from jointlab.verdict.field_record import Event, Inspection, Phase

    happened = Event(
        at="",
        phase=word_or_none("--phase", phase, Phase),
        hours=hours,
        top_rpm=top_rpm,
        catches=_catches(light, firm, severe),
        inspection=word_or_none("--inspected", inspected, Inspection),
        note=note,
    )
    show_event(mounting.keep_event(book, name, happened, photos=photo or (), by=by))


def _catches(light: int, firm: int, severe: int) -> tuple[tuple[CatchClass, int], ...]:
    from jointlab.mount.setup import CatchClass

    counts = zip(CatchClass, (light, firm, severe), strict=True)
    return tuple((catch, count) for catch, count in counts if count)


@mounts_app.command("end")
def end(
    name: NameArgument,
    ending: Annotated[
        str | None,
        typer.Option("--as", metavar="[finished|taken_off_uneasy|joint_opened|let_go|near_miss]", help="How it ended."),
    ] = None,
    block: Annotated[
        str | None,
        typer.Option(
            "--block",
            metavar="[parted|sawn|split|warmed|pried|pried_with_scale|by_itself|still_on]",
            help="How the block came off.",
        ),
    ] = None,
    load_kgf: Annotated[str | None, typer.Option("--load_kgf", help="Scale that pried it off.")] = None,
    arm_mm: Annotated[str | None, typer.Option("--arm_mm", help="Glue line to line of pull.")] = None,
    note: NoteOption = "",
    photo: PhotoOption = None,
    book: BookOption = None,
    by: ByOption = None,
) -> None:
    """End a mount: how it ended, how the block came off, and, pried off with the scale, a full-size pull for nothing.

    On a terminal what is not given is asked, in three questions at the most.
    """
    from jointlab.app import mounting
    from jointlab.app.cli.flags import needed, word_or_none
    from jointlab.app.cli.mounts_shown import show_ended
    from jointlab.app.publishing import today
    from jointlab.verdict.field_record import End, Ended, Removal

    ending = _asked("1 of 3. How did it end", [*map(str, End)]) if ending is None and _on_terminal() else ending
    block = (
        _asked("2 of 3. How did the block come off", [*map(str, Removal)])
        if block is None and _on_terminal()
        else block
    )
    needed({"--as": ending, "--block": block})
    how, off = word_or_none("--as", ending, End), word_or_none("--block", block, Removal)
    assert how is not None
    assert off is not None
    ended = Ended("", how, off, note)
    pried = _pried(load_kgf, arm_mm, asking=mounting.offers_pull(ended) and _on_terminal())
    cells = mounting.full_size_cells(book, name, tested_on=today(), pried=pried) if mounting.offers_pull(ended) else {}
    if pried is not None:
        mounting.check_cells(cells)
    show_ended(mounting.end_mount(book, name, ended, photos=photo or (), by=by))
    if cells:
        _full_size(cells, book, by, stored=pried is not None)


def _full_size(cells: dict[str, str], book: str | None, by: str | None, *, stored: bool) -> None:
    from jointlab.app import mounting, workflow
    from jointlab.app.cli.receipts import show_receipt

    if stored:
        print("A full-size pull for nothing:")
        show_receipt(workflow.record_pull(book, cells, by=by))
    else:
        print(f"If the scale was read, it is a full-size pull for nothing:\n  {mounting.record_command(cells)}")


def _pried(load_kgf: str | None, arm_mm: str | None, *, asking: bool) -> PriedOff | None:
    from jointlab.app.cli.flags import needed
    from jointlab.app.mounting import PriedOff

    if load_kgf is None and arm_mm is None and asking:
        told = typer.prompt("3 of 3. What did it show, kgf, and how far from the glue line, mm (41 300)", default="")
        load_kgf, arm_mm = (*told.split(), None, None)[:2]
    if load_kgf is None and arm_mm is None:
        return None
    needed({"--load_kgf": load_kgf, "--arm_mm": arm_mm})
    assert load_kgf is not None
    assert arm_mm is not None
    return PriedOff("load_kgf", load_kgf, arm_mm)


def _on_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _asked(question: str, words: list[str]) -> str:
    return str(typer.prompt(f"{question} ({', '.join(words)})"))


@mounts_app.command("show")
def show(name: NameArgument, book: BookOption = None, as_json: JsonOption = False) -> None:
    """Show one mount: what was said of it, its proofs, what happened, how it ended, its photos."""
    from jointlab.app import mounting

    record, photos = mounting.field_record(book, name)
    if as_json:
        _show((record,), as_json=True)
    else:
        from jointlab.app.cli.mounts_shown import show_mount

        show_mount(record, photos)


@mounts_app.command("list")
def list_mounts(book: BookOption = None, as_json: JsonOption = False) -> None:
    """List the mounts: predicted against happened."""
    from jointlab.app import mounting

    _show(mounting.field_records(book), as_json=as_json)
