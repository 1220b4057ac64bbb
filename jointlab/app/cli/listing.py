"""The list of pulls on the terminal, in tables of so many: however long it is, only one of them is at hand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import islice
from typing import TYPE_CHECKING

from jointlab.app.cli.showing import add, console, table_of
from jointlab.app.saying import stress_words

if TYPE_CHECKING:
    from jointlab.app.workflow import ReadPull

IN_A_TABLE = 1000
"""Pulls of one table: the widths of its columns follow from all of them; a judgement."""


def show_pulls(pulls: Iterable[ReadPull], *, limit: int | None = None) -> None:
    """Every pull, a line each, the excluded ones marked; how to go on where no more were asked for."""
    coming = iter(pulls)
    some, number = tuple(islice(coming, IN_A_TABLE)), 0
    following = tuple(islice(coming, IN_A_TABLE))
    while True:
        title = (
            f"{number + len(some)} pulls"
            if not (number or following)
            else f"Pulls {number + 1} to {number + len(some)}"
        )
        _show_table(title, some)
        number += len(some)
        if not following:
            break
        some, following = following, tuple(islice(coming, IN_A_TABLE))
    if number > IN_A_TABLE:
        print(f"{number} pulls.")
    if number == limit:
        print(f"More may follow: --after {some[-1].stored.id}")


def _show_table(title: str, pulls: Sequence[ReadPull]) -> None:
    table = table_of(
        title,
        "ID",
        "batch",
        "specimen",
        "glue",
        "substrate",
        "action",
        "strength",
        "used",
        "asked",
        numbers=["ID"],
    )
    for read in pulls:
        pull = read.stored.pull
        combination = pull.joint.combination
        made = f" ({combination.preparation})" if combination.preparation else ""
        add(
            table,
            str(read.stored.id),
            pull.batch,
            pull.specimen,
            combination.glue,
            f"{combination.substrate}{made}",
            pull.action,
            stress_words(read.stress),
            _used(read),
            ", ".join(found.code for found in read.findings) or "-",
        )
    console().print(table)


def _used(read: ReadPull) -> str:
    if read.stored.pull.excluded_because:
        return f"no: {read.stored.pull.excluded_because}"
    return "yes" if read.stress.carries_information else "no"
