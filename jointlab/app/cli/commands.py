"""Commands in the order of the work: try it, test joints, ask what they say, decide, publish, keep."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from jointlab.app.cli.application import (
    ActionOption,
    BookOption,
    ByOption,
    GlueOption,
    JsonOption,
    MountFile,
    PreparationOption,
    SetOption,
    SubstrateOption,
    app,
    pulls_app,
    show_json,
    show_json_text,
)


@app.command(short_help="The whole job once, on invented data.")
def demo(
    directory: Annotated[Path, typer.Argument(metavar="[DIR]", help="Where to write it.")] = Path("jointlab-demo"),
) -> None:
    """Run the whole job once on invented data: book, strengths, verdicts, page."""
    from jointlab.app.cli.marking import busy

    with busy("the whole job, once"):
        from jointlab.app.demonstration import run_demo

        run = run_demo(directory)
    from jointlab.app.cli.showing import show_demo

    show_demo(run)


PhotoOption = Annotated[
    list[Path] | None,
    typer.Option(
        "--photo", metavar="FILE", help="A photo of the break, kept without place or camera; repeat for more."
    ),
]


@app.command(
    short_help="Store one pull.",
    context_settings={"allow_extra_args": True, "ignore_unknown_options": True},
    options_metavar="--COLUMN VALUE...",
)
def record(
    ctx: typer.Context,
    book: BookOption = None,
    by: ByOption = None,
    columns: Annotated[bool, typer.Option("--columns", help="List the columns, each a flag of its own.")] = False,
    photos: PhotoOption = None,
    as_json: JsonOption = False,
) -> None:
    """Store one pull: one flag per column, such as --load_kgf 12.5 (see --columns)."""
    from jointlab.app.cli.flags import cells_of, show_columns

    if columns:
        show_columns()
        return
    from jointlab.app import workflow

    cells = cells_of(ctx.args)
    if photos:
        from jointlab.app.photographing import record_with_photos

        read = record_with_photos(book, cells, photos, by=by)
    else:
        read = workflow.record_pull(book, cells, by=by)
    if as_json:
        from jointlab.app.answers import pulls_document

        show_json(pulls_document([read]))
    else:
        from jointlab.app.cli.receipts import show_receipt

        show_receipt(read)


@app.command("import", short_help="Store the pulls of a CSV file or workbook.")
def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="One row a pull, .csv or .xlsx.")],
    book: BookOption = None,
    by: ByOption = None,
    decimal: Annotated[
        str, typer.Option("--decimal", metavar="[point|comma]", help="comma: cells parted by ; and numbers like 12,5.")
    ] = "point",
    preview: Annotated[bool, typer.Option("--preview", help="Say what would come in, and store nothing.")] = False,
    shop: Annotated[
        str | None, typer.Option("--shop", metavar="NAME", help="Another shop's pulls: shown, and never alone a pass.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Store all pulls of a CSV file or workbook, or none; rows already stored are skipped."""
    from jointlab.app import workflow
    from jointlab.app.cli.flags import decimal_of
    from jointlab.app.cli.marking import measured

    if shop is not None:
        from jointlab.app.cli import shops

        if preview:
            shops.preview_of_shop(book, file, shop, decimal=decimal, as_json=as_json)
        else:
            shops.import_of_shop(book, file, shop, decimal=decimal, by=by, as_json=as_json)
        return
    mark = decimal_of(decimal)
    if preview:
        from jointlab.app.cli.receipts import show_preview
        from jointlab.app.file_previews import preview_file

        show_preview(*preview_file(book, file, decimal=mark, watching=measured), as_json=as_json)
        return
    receipt, findings, asked = workflow.import_file(book, file, by=by, decimal=mark, watching=measured)
    if as_json:
        from jointlab.app.documents import ImportDocument

        show_json(ImportDocument(stored=receipt.stored, skipped=receipt.skipped))
    else:
        from jointlab.app.cli.receipts import show_import

        show_import(receipt, findings, asked)


@app.command(short_help="Write pulls as CSV or a workbook.")
def export(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Written anew, .csv or .xlsx.")],
    book: BookOption = None,
    glue: GlueOption = None,
    substrate: SubstrateOption = None,
    preparation: PreparationOption = None,
    action: ActionOption = None,
    template: Annotated[
        bool, typer.Option("--template", help="Write a table to start from in place of the pulls.")
    ] = False,
) -> None:
    """Write pulls as CSV or a workbook in SI units; importing it gives the same pulls."""
    from jointlab.app import workflow
    from jointlab.app.cli.flags import selection_of

    if template:
        workflow.export_template(file)
        print(f"A table to start from: {file}. Its rows are examples: write over them, then jointlab import {file}")
        return
    count = workflow.export_file(book, file, selection_of(glue, substrate, preparation, action))
    print(f"{count} pulls written to {file}")


app.add_typer(pulls_app, name="pulls", short_help="List, correct or exclude pulls.")


@pulls_app.callback()
def pulls(
    ctx: typer.Context,
    book: BookOption = None,
    glue: GlueOption = None,
    substrate: SubstrateOption = None,
    preparation: PreparationOption = None,
    action: ActionOption = None,
    limit: Annotated[int | None, typer.Option("--limit", metavar="N", min=1, help="At most so many.")] = None,
    after: Annotated[int | None, typer.Option("--after", metavar="ID", help="Only those stored after this.")] = None,
    as_json: JsonOption = False,
) -> None:
    """List the pulls; correct, exclude or see the history of one."""
    if ctx.invoked_subcommand is not None:
        return
    from dataclasses import replace

    from jointlab.app import workflow
    from jointlab.app.cli.flags import selection_of

    chosen = replace(selection_of(glue, substrate, preparation, action), limit=limit, after=after)
    listed = workflow.each_pull(book, chosen)
    if as_json:
        from jointlab.app.answers import pulls_text

        show_json_text(pulls_text(listed))
    else:
        from jointlab.app.cli.listing import show_pulls

        show_pulls(listed, limit=limit)


PullNumber = Annotated[int, typer.Argument(metavar="ID", help="Number of the pull.")]


@pulls_app.command(
    "correct",
    context_settings={"allow_extra_args": True, "ignore_unknown_options": True},
    options_metavar="--reason TEXT --COLUMN VALUE...",
)
def correct(
    ctx: typer.Context,
    pull_id: PullNumber,
    reason: Annotated[str, typer.Option("--reason", help="Why; it is kept in the history.")],
    book: BookOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write columns of a pull anew as its next revision; an empty value clears a column."""
    from jointlab.app import workflow
    from jointlab.app.cli.flags import cells_of

    _show_one(workflow.correct_pull(book, pull_id, cells_of(ctx.args), reason=reason, by=by), as_json=as_json)


@pulls_app.command("exclude")
def exclude(
    pull_id: PullNumber,
    cause: Annotated[str, typer.Option("--cause", help="Why; the pull is kept and shown, but not used.")],
    book: BookOption = None,
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep and show a pull, but use it no more."""
    from jointlab.app import workflow

    _show_one(workflow.exclude_pull(book, pull_id, cause=cause, by=by), as_json=as_json)


def _show_one(read: Any, *, as_json: bool) -> None:
    if as_json:
        from jointlab.app.answers import pulls_document

        show_json(pulls_document([read]))
    else:
        from jointlab.app.cli.receipts import show_receipt

        show_receipt(read)


@pulls_app.command("photo")
def photo(
    pull_id: PullNumber,
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="JPEG, PNG or WebP.")],
    book: BookOption = None,
    by: ByOption = None,
) -> None:
    """Keep photos of a pull, without place, camera or other metadata."""
    from jointlab.app.photographing import keep_photos

    for kept in keep_photos(book, pull_id, files, by=by):
        print(f"Photo {kept.id} of pull {pull_id}: {kept.width_px} x {kept.height_px} pixels.")


@pulls_app.command("history")
def history(pull_id: PullNumber, book: BookOption = None) -> None:
    """Show every revision of a pull, oldest first."""
    from jointlab.app import workflow
    from jointlab.app.cli.showing import show_history

    show_history(workflow.pull_history(book, pull_id))


FamiliesOption = Annotated[bool, typer.Option("--families", help="Tell the fitted families, and a threshold.")]
LinksOption = Annotated[
    bool, typer.Option("--links", help="Take joints apart by where they let go, and put the chain together.")
]


@app.command(short_help="What strength joints can be relied on for.")
def strength(
    book: BookOption = None,
    glue: GlueOption = None,
    substrate: SubstrateOption = None,
    preparation: PreparationOption = None,
    action: ActionOption = None,
    coverage: Annotated[float, typer.Option("--coverage", help="Share of joints that exceed the bound.")] = 0.95,
    confidence: Annotated[float, typer.Option("--confidence", help="How sure the bound is said.")] = 0.95,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Write a figure (.svg or .png) of the strengths.")
    ] = None,
    preview: Annotated[
        bool, typer.Option("--preview", help="A quick look: few draws where pulls are censored, marked as such.")
    ] = False,
    stress: Annotated[
        float | None, typer.Option("--stress", metavar="MPA", help="Tell also the chance that the next joint holds it.")
    ] = None,
    following: Annotated[
        int, typer.Option("--next", metavar="K", help="With --stress: and that all of the next K hold it.")
    ] = 1,
    families: FamiliesOption = False,
    links: LinksOption = False,
    as_json: JsonOption = False,
) -> None:
    """Say what strength joints can be relied on for, for one or every combination."""
    from jointlab.app import describing, foretelling, workflow
    from jointlab.app.cli.flags import selection_of, share_of
    from jointlab.app.cli.marking import marked

    chosen = selection_of(glue, substrate, preparation, action)
    strengths = workflow.strengths_in(
        book,
        chosen,
        coverage=share_of("--coverage", coverage),
        confidence=share_of("--confidence", confidence),
        detail=workflow.Detail.PREVIEW if preview else workflow.Detail.EVERYTHING,
        progress=marked,
    )
    foretold = () if stress is None else foretelling.foretold_in(book, chosen, stress_mpa=stress, following=following)
    described = describing.described_in(book, chosen) if families or links else ()
    if plot is not None:
        from jointlab.app.publishing import plot_strengths

        plot_strengths(book, chosen, plot)
    if as_json:
        from jointlab.app.answers import strength_document

        show_json(strength_document(strengths, foretold, described))
    else:
        from jointlab.app.cli.described_shown import show_described
        from jointlab.app.cli.showing import show_foretold, show_strengths

        show_strengths(strengths)
        show_foretold(foretold)
        show_described(described, families=families, links=links)
    if all(found.working_bound.bound_mpa is None for found in strengths):
        raise typer.Exit(4)


@app.command(short_help="The verdict: pass, fail or undecided.")
def decide(
    file: MountFile,
    book: BookOption = None,
    settings: SetOption = None,
    envelope: Annotated[
        bool,
        typer.Option("--envelope", help="Show also what other sizes would stand."),
    ] = False,
    plot: Annotated[
        Path | None,
        typer.Option("--plot", metavar="FILE", help="Write a figure (.svg or .png) of what other sizes would stand."),
    ] = None,
    card: Annotated[
        Path | None, typer.Option("--card", metavar="FILE.pdf", help="Write a card of one sheet for the lathe's wall.")
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="[a4|us-letter]", help="Sheet of the card.")] = "a4",
    by: ByOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give the verdict on a mount: pass (exit 0), fail (10) or undecided (11), and what would settle it."""
    from jointlab.app import enveloping, workflow
    from jointlab.app.cli.marking import busy

    with busy("weighing the tests against the lathe"):
        decision = workflow.decide_mount(book, file, settings or ())
    if card is not None:
        from jointlab.app.cli.flags import word_or_none
        from jointlab.app.publishing import write_card
        from jointlab.publish.typesetting import Paper

        write_card(decision, card, decided_by=by, paper=word_or_none("--paper", paper, Paper) or Paper.A4)
    lines = enveloping.envelope_around(decision) if envelope or plot is not None else ()
    if plot is not None:
        from jointlab.app.publishing import plot_envelope

        plot_envelope(decision, lines, plot)
    if as_json:
        from jointlab.app.answers import decide_document

        show_json(decide_document(decision.verdict))
    else:
        from jointlab.app.cli.showing import show_decision, show_envelope

        show_decision(decision)
        if envelope:
            show_envelope(lines)
    raise typer.Exit({"pass": 0, "fail": 10, "undecided": 11}[decision.verdict.verdict])


@app.command(short_help="Page, PDF and data others can check.")
def publish(
    directory: Annotated[Path, typer.Argument(metavar="DIR", help="Written; must be empty without --replace.")],
    book: BookOption = None,
    mounts: Annotated[
        list[Path] | None, typer.Option("--mount", metavar="FILE.toml", help="A mount to decide on the page.")
    ] = None,
    title: Annotated[str, typer.Option("--title", help="Heading of the page.")] = "Pull-apart tests of glue joints",
    question: Annotated[str | None, typer.Option("--question", help="What was asked.")] = None,
    shop: Annotated[str | None, typer.Option("--shop", help="Name of the shop, if it wants to be known.")] = None,
    dated: Annotated[str | None, typer.Option("--date", help="ISO date of the publication; today if left out.")] = None,
    notes: Annotated[
        bool, typer.Option("--notes", help="Publish the notes of pulls and the comments in mount files; else private.")
    ] = False,
    envelope: Annotated[
        bool, typer.Option("--envelope", help="Show of each mount also what other sizes would stand.")
    ] = False,
    photos: Annotated[
        bool, typer.Option("--photos", help="Publish the photos of pulls and mounts too; else private.")
    ] = False,
    licence: Annotated[
        str, typer.Option("--licence", help="Of the data: CC-BY-4.0, CC0-1.0, ODC-BY-1.0, or your own words.")
    ] = "CC-BY-4.0",
    paper: Annotated[str, typer.Option("--paper", metavar="[a4|letter]", help="Sheet of the PDF.")] = "a4",
    check: Annotated[
        bool, typer.Option("--check", help="Work every number of the publication in DIR out again, and compare.")
    ] = False,
    replace: Annotated[bool, typer.Option("--replace", help="Replace what a publication left in DIR.")] = False,
    glue: GlueOption = None,
    substrate: SubstrateOption = None,
    preparation: PreparationOption = None,
    action: ActionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Publish results so that others can check them: page, PDF, figures, and all data as an open package."""
    from jointlab.app import publishing
    from jointlab.app.cli.flags import paper_of, selection_of
    from jointlab.app.cli.marking import busy

    if check:
        _check_publication(directory, book, as_json=as_json)
        return

    wish = publishing.Wish(
        title=title,
        question=question,
        shop=shop,
        dated_on=dated,
        disclosing=publishing.disclosing(shop=shop is not None, notes=notes, photos=photos),
        envelopes=envelope,
        licence=licence,
        paper=paper_of(paper),
    )
    with busy("drawing the page"):
        page = publishing.publish_results(
            book,
            directory,
            wish,
            mounts=mounts or (),
            selection=selection_of(glue, substrate, preparation, action),
            replacing=replace,
        )
    if as_json:
        from jointlab.app.documents import PublishDocument

        show_json(PublishDocument(page=str(page)))
    else:
        print(f"Page written: {page}")


def _check_publication(directory: Path, book: str | None, *, as_json: bool) -> None:
    from jointlab.app.checking import check_document, check_publication
    from jointlab.app.cli.marking import busy

    with busy("working it out again"):
        found = check_publication(directory, book)
    if as_json:
        show_json(check_document(found))
    else:
        from jointlab.app.cli.receipts import show_publication_check

        show_publication_check(found)
    if not found.sound:
        raise typer.Exit(3)


@app.command(short_help="Write the book to a new file.")
def backup(file: Annotated[Path, typer.Argument(metavar="FILE", help="A new file.")], book: BookOption = None) -> None:
    """Write the whole shop book to a new file, while others may go on writing."""
    from jointlab.app import workflow

    print(f"The shop book was written to {workflow.backup_book(book, file)}")


@app.command(short_help="Make a book from a backup.")
def restore(file: Annotated[Path, typer.Argument(metavar="FILE", help="The backup.")], book: BookOption = None) -> None:
    """Make a new shop book from a backup, looked through first; an existing book is not overwritten."""
    from jointlab.app import workflow
    from jointlab.app.cli.receipts import show_check

    show_check(workflow.restore_book_from(file, book))


@app.command(short_help="Look through the book for damage.")
def check(book: BookOption = None) -> None:
    """Look through the whole shop book for damage (exit 3 if there is any)."""
    from jointlab.app import workflow
    from jointlab.app.cli.receipts import show_check

    found = workflow.check_book(book)
    show_check(found)
    if not found.sound:
        raise typer.Exit(3)
