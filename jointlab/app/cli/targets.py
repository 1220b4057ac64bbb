"""What a coupon must hold before any test, as it is typed."""

from __future__ import annotations

from typing import Annotated

import typer

from jointlab.app.cli.application import BookOption, JsonOption, MountFile, SetOption, app, show_json


@app.command(short_help="What a coupon must hold for a mount.")
def target(
    file: MountFile,
    settings: SetOption = None,
    rig: Annotated[
        str | None, typer.Option("--rig", metavar="NAME", help="A rig of the book: its arm and limit hold.")
    ] = None,
    diameter_mm: Annotated[float, typer.Option("--diameter_mm", help="Diameter of the coupon, a disc.")] = 50.0,
    action: Annotated[str, typer.Option("--action", metavar="[pry|pull]", help="How it is loaded.")] = "pry",
    arm_mm: Annotated[float, typer.Option("--arm_mm", help="Of a pry: glue line to line of pull.")] = 300.0,
    count: Annotated[int, typer.Option("--count", help="Coupons in all.")] = 6,
    batches: Annotated[int, typer.Option("--batches", help="Glue-ups they come from.")] = 2,
    cap_kgf: Annotated[float | None, typer.Option("--cap_kgf", help="The most the scale shows.")] = None,
    book: BookOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say before any test what one coupon on your rig must hold for this mount."""
    from jointlab.app import targeting
    from jointlab.app.cli.flags import coupon_of

    coupon = coupon_of(diameter_mm, action, arm_mm, count, batches, cap_kgf)
    if rig is None:
        told = targeting.target_for(file, settings or (), coupon)
    else:
        from jointlab.app.publishing import today

        told = targeting.target_on_rig(book, file, settings or (), coupon, rig=rig, today=today())
    if as_json:
        from jointlab.app.answers import target_document

        show_json(target_document(told.target))
    else:
        from jointlab.app.cli.receipts import show_findings

        print("\n".join(told.target.sentences))
        show_findings(told.findings)
