"""The command that puts results of several shops together."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from jointlab.app.cli.application import (
    ActionOption,
    GlueOption,
    JsonOption,
    PreparationOption,
    SubstrateOption,
    app,
    show_json,
)

if TYPE_CHECKING:
    from jointlab.app.pooling import Pool
    from jointlab.pool.values import PooledCombination


@app.command(short_help="Results of several shops together.")
def pool(
    packages: Annotated[list[Path], typer.Argument(metavar="PACKAGE...", help="Folders or .zip files of publish.")],
    glue: GlueOption = None,
    substrate: SubstrateOption = None,
    preparation: PreparationOption = None,
    action: ActionOption = None,
    confidence: Annotated[float, typer.Option("--confidence", help="Of intervals and bound.")] = 0.95,
    same: Annotated[
        list[str] | None, typer.Option("--same", metavar='"A=B"', help="Take name A for B; may be repeated.")
    ] = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Write the forest (.svg or .png) of the first shown.")
    ] = None,
    wall: Annotated[
        Path | None,
        typer.Option("--wall", metavar="FILE.pdf", help="Write one sheet for a club's wall, naming nobody."),
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="[a4|letter]", help="Sheet of --wall.")] = "a4",
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Write a page and its figures.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Put packages of several shops together: each pull once, what all say, what a new shop's next joint may hold."""
    from jointlab.app import pooling
    from jointlab.app.cli.flags import action_of, paper_of, share_of
    from jointlab.app.cli.marking import busy

    wish = pooling.PoolWish(
        glue,
        substrate,
        preparation,
        None if action is None else action_of(action),
        share_of("--confidence", confidence),
        tuple(same or ()),
    )
    sheet = paper_of(paper)
    with busy("looking the packages through"):
        pooled = pooling.pool_packages(packages, wish)
    if plot is not None:
        pooling.plot_forest(pooled, plot)
    if wall is not None:
        pooling.write_wall(pooled, wall, paper=sheet)
    page = None if out is None else pooling.write_pool(pooled, out)
    if as_json:
        show_json(pooling.pool_document(pooled))
    else:
        _show(pooled)
        for name, written in (("Page", page), ("Wall sheet", wall)):
            if written is not None:
                print(f"\n{name} written: {written}")
    if all(each.pooled is None for each in pooled.combinations):
        raise typer.Exit(4)


def _show(pooled: Pool) -> None:
    from jointlab.app.pooling import NEVER_A_PASS
    from jointlab.publish.wording import counted

    shops = pooled.gathered.shops
    pulls = sum(len(shop.pulls) for shop in shops)
    print(f"{counted(len(shops), 'shop')}, {counted(pulls, 'pull')}, each counted once.")
    for each in pooled.combinations:
        _show_combination(each, pooled.confidence)
    if pooled.field:
        print("\nHow mounts went")
        for count in pooled.field:
            told = ", ".join(f"{end.replace('_', ' ')} {number}" for end, number in count.ends)
            print(f"  {count.size}, heaviest catch {count.worst_catch}: {count.mounts} ({told})")
    if pooled.gathered.rulings:
        print("\nDecided on the way")
        for ruling in pooled.gathered.rulings:
            print(f"  - {ruling.text}")
    print(f"\n{NEVER_A_PASS}")


def _show_combination(each: PooledCombination, confidence: float) -> None:
    from jointlab.app.cli.showing import add, console, shown, table_of
    from jointlab.publish.forest_figure import BETWEEN_WORDS
    from jointlab.publish.wording import counted

    print(f"\n{each.combination}, {each.action}: {counted(each.pulls, 'pull')} of {counted(len(each.seen), 'shop')}")
    pooled = each.pooled
    if pooled is None:
        print(f"  not pooled: {each.why_not}")
        return
    without = {left.shop: left.median_mpa for left in pooled.without}
    table = table_of("", "shop", "pulls", "glue-ups", "median MPa", "without it", numbers=["pulls", "glue-ups"])
    for shop in pooled.shops:
        left = shown(without.get(shop.shop))
        add(table, shop.shop, str(shop.n), str(shop.glue_ups), shown(shop.median_mpa), left)
    for effect in pooled.effects:
        ends = f"{shown(math.exp(effect.lower))} to {shown(math.exp(effect.upper))}"
        add(table, BETWEEN_WORDS[effect.between], "", "", shown(math.exp(effect.mean)), ends)
    console().print(table)
    differ = pooled.heterogeneity
    share = f"{differ.i2:.0%} of the differences between shops are more than chance"
    print(
        f"  {share} (I2; Q {differ.q:.1f}, p {differ.p_value:.2g}; tau {math.sqrt(pooled.effects[-1].tau2):.2f} REML)"
    )
    print(
        f"  The next joint of a new shop exceeds {shown(pooled.next_joint_mpa)} MPa, with {confidence:.0%} confidence."
    )
    if pooled.left_out:
        print(f"  Left out, too few breaks: {', '.join(pooled.left_out)}")
