"""The shop's rigs: keep one, check it against something known, and see what it is worth now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from jointlab.app import workflow
from jointlab.book.stored import RigRevision, StoredRig
from jointlab.errors import InputError, Problem, UnknownEntryError
from jointlab.record.dates import iso_text
from jointlab.record.finding import Finding
from jointlab.record.rig import Rig, RigCheck, rig_findings
from jointlab.record.rig_row import cells_in_units, cells_of_rig, checked_rig, rig_titles


@dataclass(frozen=True, slots=True)
class KeptRig:
    """A rig of the book and what to know before trusting it."""

    stored: StoredRig
    findings: tuple[Finding, ...]


def kept_rigs(place: str | Path | None, *, today: str) -> tuple[KeptRig, ...]:
    """Every rig of the book, in the order of their names."""
    with workflow.open_book(place) as book:
        return tuple(_looked_at(stored, today) for stored in book.rigs())


def keep_rig(
    place: str | Path | None,
    name: str,
    cells: Mapping[str, str],
    *,
    today: str,
    reason: str | None = None,
    by: str | None = None,
) -> KeptRig:
    """Keep a new rig; or change the given columns of one that is known, an empty text clearing a column.

    Raises
    ------
    InputError
        With a problem for each bad column; or the rig is known and no reason is given, or nothing changes.
    """
    with workflow.open_book(place) as book:
        try:
            known: Rig | None = book.rig(name).rig
        except UnknownEntryError:
            known = None
        before = {} if known is None else cells_of_rig(known)
        kind = {"kind": before["kind"]} if known is not None else {}
        merged = before | {"name": name if known is None else known.name} | cells_in_units(kind | dict(cells))
        given = {column: text for column, text in merged.items() if text.strip()}
        rig = checked_rig(given, checks=() if known is None else known.checks)
        return _looked_at(book.keep_rig(rig, reason=reason, by=by), today)


def check_rig(
    place: str | Path | None,
    name: str,
    cells: Mapping[str, str],
    *,
    checked_on: str,
    today: str,
    by: str | None = None,
) -> KeptRig:
    """Keep what a rig showed of something known.

    Parameters
    ----------
    cells
        ``known_*`` and ``shown_*`` in a unit of what the rig reads.

    Raises
    ------
    InputError
        One of them is missing, no number, or not more than nothing; or the date is none.
    UnknownEntryError
        There is no such rig.
    """
    with workflow.open_book(place) as book:
        rig = book.rig(name).rig
        check = _check_of(rig, cells, checked_on)
        checked = replace(rig, checks=(*rig.checks, check))
        return _looked_at(book.keep_rig(checked, reason=f"checked on {check.checked_on}", by=by), today)


def rig_history(place: str | Path | None, name: str) -> tuple[RigRevision, ...]:
    """Every state of a rig, oldest first."""
    with workflow.open_book(place) as book:
        return book.rig_history(name)


def _check_of(rig: Rig, cells: Mapping[str, str], checked_on: str) -> RigCheck:
    units = {title.partition("_")[2]: unit for title, unit in rig_titles(rig.kind).items() if title.startswith("step_")}
    wanted = ", ".join(units)
    values: dict[str, float] = {}
    problems: list[Problem] = []
    for title, text in cells.items():
        base, _, suffix = title.partition("_")
        unit = units.get(suffix)
        if base not in ("known", "shown") or unit is None:
            problems.append(Problem(f"is neither known nor shown in a unit of {rig.name}: {wanted}", column=title))
            continue
        try:
            values[base] = unit.to_stored(float(text))
        except ValueError:
            problems.append(Problem("must be a number", column=title, value=text, allowed="a number"))
        else:
            if not 0.0 < values[base] <= 1e7:
                problems.append(Problem("must be greater than 0", column=title, value=text, allowed="greater than 0"))
    if not problems:
        missing = [base for base in ("known", "shown") if base not in values]
        problems += [Problem(f"is needed, in one of {wanted}", column=f"{base}_*") for base in missing]
    try:
        day = iso_text(checked_on)
    except ValueError as failure:
        problems.append(Problem(str(failure), column="date", value=checked_on, allowed="an ISO date"))
    if problems:
        raise InputError(problems, subject="the check")
    return RigCheck(day, values["known"], values["shown"])


def _looked_at(stored: StoredRig, today: str) -> KeptRig:
    return KeptRig(stored, rig_findings(stored.rig, peak=None, today=today))
