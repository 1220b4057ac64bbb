"""The tables of a publication, as text in cells; a page and a PDF lay out the same ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from jointlab.mount.demand import ScrewDemand
from jointlab.mount.setup import Amount, MountSetup
from jointlab.pool.values import FieldEntry
from jointlab.publish.probability_figure import FAMILY_WORDS
from jointlab.publish.publication import PublishedMount, PublishedPull, held_open
from jointlab.publish.wording import (
    BASIS_WORDS,
    CASE_WORDS,
    METHOD_WORDS,
    factor_words,
    link_words,
    listed,
    margin_words,
    outline_words,
    percent,
    rounded,
)
from jointlab.record.row import COLUMNS, row_cells
from jointlab.strength.values import CombinationStrength
from jointlab.units import Quantity
from jointlab.verdict.values import ScrewStrength

MOST_PULLS = 500
"""Pulls a page shows; the rest is in the file beside it."""

MOST_ROWS = 200
"""Bounds, and fitted shapes, that a page shows; the rest is in the file beside it."""

UNIT_WORDS = {
    Quantity.LENGTH: "mm",
    Quantity.FORCE: "N",
    Quantity.TORQUE: "N m",
    Quantity.DURATION: "h",
    Quantity.TEMPERATURE: "\N{DEGREE SIGN}C",
    Quantity.SHARE: "%",
    Quantity.SPREAD: "g/m\N{SUPERSCRIPT TWO}",
}


@dataclass(frozen=True, slots=True)
class Table:
    """A table: caption, heads, and rows of text. ``numeric`` are the places of columns set right.

    ``parted``: what the rows from each of these places on have in common, to stand in a line of its own.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()
    parted: tuple[tuple[int, str], ...] = ()


def strengths_table(strengths: Sequence[CombinationStrength]) -> Table:
    """What was pulled, how often, and what can be relied on [MPa]."""
    rows = tuple(
        (
            str(strength.combination),
            str(strength.action),
            rounded(strength.working_bound.bound_mpa),  # near the left: a phone shows three columns
            str(strength.n),
            str(strength.n_broke),
            str(strength.n_held),
            str(strength.batches),
            "open finding" if held_open(strength.findings) else "",
        )
        for strength in strengths
    )
    asked = strengths[0].working_bound if strengths else None
    said = "" if asked is None else f": {percent(asked.coverage)} of joints, {percent(asked.confidence)} sure"
    head = ("combination", "action", "relied on, MPa", "pulls", "broke", "held", "glue-ups", "remark")
    return Table(f"What can be relied on{said}", head, rows, frozenset(range(2, 7)))


def bounds_table(strengths: Sequence[CombinationStrength], *, most: int = MOST_ROWS) -> Table:
    """Every bound that could be given [MPa], by method; the first ``most`` rows."""
    rows = tuple(
        (
            str(strength.combination),
            str(strength.action),
            METHOD_WORDS[bound.method] + ("" if bound.family is None else f", {FAMILY_WORDS[bound.family]}"),
            rounded(bound.bound_mpa),
        )
        for strength in strengths
        for bound in strength.bounds
        if bound.bound_mpa is not None
    )
    head = ("combination", "action", "method", "bound, MPa")
    return _first_rows("Lower bounds by method", "bounds.csv", Table("", head, rows, frozenset({3})), most)


def families_table(strengths: Sequence[CombinationStrength], *, most: int = MOST_ROWS) -> Table:
    """Fitted shapes: parameters and log-likelihood; the first ``most`` rows."""
    rows = tuple(
        (
            str(strength.combination),
            str(strength.action),
            FAMILY_WORDS[fit.family],
            ", ".join(f"{name} {rounded(value, digits=4)}" for name, value in fit.parameters) or (fit.ill or ""),
            rounded(fit.log_likelihood, digits=5),
            rounded(fit.aicc, digits=5),
        )
        for strength in strengths
        for fit in strength.families
    )
    head = ("combination", "action", "shape", "parameters", "log-likelihood", "AICc")
    return _first_rows("Fitted shapes", "families.csv", Table("", head, rows, frozenset({4, 5})), most)


def _first_rows(caption: str, file: str, whole: Table, most: int) -> Table:
    """A table of as many rows as a page bears; the caption points to the file that holds all of them."""
    if len(whole.rows) > most:
        caption = f"{caption} (the first {most} of {len(whole.rows)}; all of them are in {file})"
    return replace(whole, caption=caption, rows=whole.rows[:most])


def mount_table(setup: MountSetup) -> Table:
    """The mount as it was described, in words and units."""
    blank, joint, block, lathe = setup.blank, setup.joint, setup.block, setup.lathe
    rows = [
        ("blank", f"{_n(blank.diameter_mm)} mm across, {_n(blank.length_mm)} mm long, {_n(blank.mass_kg)} kg"),
        ("state", f"{_said(blank.state)}, centre of mass {_n(blank.offset_mm)} mm off the axis"),
        ("joint", f"{joint.combination}, {outline_words(joint.outline)}, {_n(joint.age_h)} h old"),
        ("voids", f"{_n(joint.void_pct)} %" + (" at the rim" if joint.void_at_rim else "")),
        ("block", f"{block.wood or _said(block.kind) or 'not said'}, {_n(block.thickness_mm)} mm thick"),
    ]
    for number, inside in enumerate(setup.blank_joints, start=1):
        size = f"{_n(inside.outer_mm)} mm across, hollowed to {_n(inside.inner_mm)} mm"
        place = f"{_n(inside.height_mm)} mm from the glue line"
        rows.append((link_words(f"blank_joint_{number}"), f"{inside.combination}, {size}, {place}"))
    if setup.screws is not None:
        screws = setup.screws
        size = f"{screws.count} of {_n(screws.diameter_mm)} mm on a circle of {_n(screws.circle_mm)} mm"
        rows.append(("screws", f"{size}, {_n(screws.thread_mm)} mm of thread in the block"))
    rows += [
        ("lathe", f"{_n(lathe.speed_rpm)} rpm, {_n(lathe.motor_w)} W"),
        ("work", f"cuts up to {_n(setup.work.reach_mm)} mm from the glue line"),
        ("tailstock", _said(setup.support.tailstock)),
        ("asked", f"margin {_n(setup.criteria.margin)} in a {setup.criteria.catch} catch"),
    ]
    return Table("The mount", ("", ""), tuple(rows))


def links_table(mount: PublishedMount) -> Table:
    """Every link at the case that governs it: demand, strength, margins."""
    rows = []
    for link in mount.verdict.links:
        if isinstance(link.demand, ScrewDemand):
            demand = f"{_n(link.demand.withdrawal_n)} N out"
        else:
            demand = f"{_n(link.demand.tension_mpa)} and {_n(link.demand.shear_mpa)} MPa"
        if isinstance(link.strength, ScrewStrength):
            strength = f"{rounded(link.strength.withdrawal_n)} N out"
        else:
            strength = f"{rounded(link.strength.tension_mpa)} and {rounded(link.strength.shear_mpa)} MPa"
        margins = (margin_words(link.margin_lower), rounded(link.margin_upper))
        rows.append((link_words(link.link), CASE_WORDS[link.case], demand, strength, *margins, BASIS_WORDS[link.basis]))
    head = ("link", "case", "asked (tension, shear)", "relied on", "margin, lower", "margin, upper", "rests on")
    return Table("Every link", head, tuple(rows), frozenset({4, 5}))


def factors_table(mount: PublishedMount) -> Table:
    """The factors from test to service, also those that change nothing; one row for tension and shear where alike."""
    rows: list[tuple[str, str, str, str]] = []
    names: list[list[str]] = []
    for factor in mount.verdict.factors:
        why = factor.reason + (" (set by hand)" if factor.overridden else "")
        said = (rounded(factor.value), why, f"{factor.source.text} [{factor.source.standing}]")
        name = factor_words(factor.name)
        if rows and rows[-1][1:] == said and _what(names[-1][-1]) == _what(name):
            names[-1].append(name)
        else:
            names.append([name])
            rows.append(("", *said))
    told = tuple((_names_together(own), *row[1:]) for own, row in zip(names, rows, strict=True))
    return Table("Factors from test to mount", ("factor", "value", "why", "source"), told, frozenset({1}))


def _what(name: str) -> str:
    return name.rpartition(", ")[0] or name


def _names_together(names: Sequence[str]) -> str:
    if len(names) == 1:
        return names[0]
    return f"{_what(names[0])}, {listed([name.rpartition(', ')[2] for name in names])}"


def pulls_table(pulls: Sequence[PublishedPull], columns: Columns | None = None) -> Table:
    """The first pulls in SI: every column that varies among all of them, and the bounds on strength [MPa]."""
    varying = (columns_of(pulls) if columns is None else columns).varying
    rows = tuple(
        (*(_cell(cells[column]) for column in varying), _strength_words(published))
        for published in pulls[:MOST_PULLS]
        for cells in (row_cells(published.pull),)
    )
    numeric = frozenset(place for place, value in enumerate(varying.values()) if isinstance(value, float))
    return Table("Every pull", (*(column_words(column) for column in varying), "strength, MPa"), rows, numeric)


@dataclass(frozen=True, slots=True)
class Columns:
    """Columns that hold one value in all pulls, with that value; and the others, each with a value found in it."""

    same: Mapping[str, object]
    varying: Mapping[str, object]


def columns_of(pulls: Sequence[PublishedPull]) -> Columns:
    """Which columns vary among these pulls, and which do not."""
    if not pulls:
        return Columns({}, {})
    same: dict[str, object] = row_cells(pulls[0].pull)
    found: dict[str, object] = {}
    for published in pulls:
        cells = row_cells(published.pull)
        for column in [column for column, value in same.items() if cells[column] != value]:
            value = same.pop(column)
            found[column] = cells[column] if value is None else value
    return Columns(same, {column: found[column] for column in COLUMNS if column in found})


BRIEF = ("batch", "specimen", "bond", "load", "outcome", "broke at", "strength, MPa", "remark")
_ALWAYS = frozenset({"batch", "specimen", "load", "strength, MPa"})


def brief_pulls(pulls: Sequence[PublishedPull]) -> tuple[Table, tuple[tuple[str, str], ...]]:
    """The first pulls by combination, in the few columns that fit a sheet; and what is the same in all."""
    own: dict[str, list[tuple[str, ...]]] = {}
    for published in pulls[:MOST_PULLS]:
        title = f"{published.pull.joint.combination}, {published.pull.action}"
        own.setdefault(title, []).append(_brief_row(published))
    rows = [row for title in own for row in own[title]]
    starts = [sum(map(len, list(own.values())[:nth])) for nth in range(len(own))]
    first = rows[0] if rows else ("",) * len(BRIEF)
    shown = [
        place for place, name in enumerate(BRIEF) if name in _ALWAYS or any(row[place] != first[place] for row in rows)
    ]
    same = tuple((BRIEF[place], first[place]) for place in range(len(BRIEF)) if place not in shown and first[place])
    cells = tuple(tuple(row[place] for place in shown) for row in rows)
    head = tuple(BRIEF[place] for place in shown)
    parted = tuple(zip(starts, own, strict=True))
    return Table("Every pull, in brief", head, cells, frozenset({head.index("load")}), parted), same


def _brief_row(published: PublishedPull) -> tuple[str, ...]:
    pull = published.pull
    remarks = [f"not used: {pull.excluded_because}" if pull.excluded_because else "", pull.notes or ""]
    return (
        pull.batch,
        pull.specimen,
        outline_words(pull.joint.outline),
        f"{rounded(pull.loading.load)} {'N m' if pull.is_twist else 'N'}",
        str(pull.outcome),
        _said(pull.broke.broke_at),
        _strength_words(published),
        "; ".join(remark for remark in remarks if remark),
    )


def same_in_all(pulls: Sequence[PublishedPull], columns: Columns | None = None) -> tuple[tuple[str, str], ...]:
    """What is the same in every pull: column in words, and its value."""
    same = (columns_of(pulls) if columns is None else columns).same
    return tuple((column_words(column), _cell(same[column])) for column in COLUMNS if same.get(column) is not None)


def column_words(column: str) -> str:
    """A column of the contract in words, with its unit."""
    for quantity in sorted(UNIT_WORDS, key=lambda quantity: -len(quantity.column_suffix)):
        if column.endswith(f"_{quantity.column_suffix}"):
            word = column.removesuffix(f"_{quantity.column_suffix}")
            return f"{word.replace('_', ' ')}, {UNIT_WORDS[quantity]}"
    return column.replace("_", " ")


def field_table(field: Sequence[FieldEntry]) -> Table:
    """How mounts went: what was said of each, what it met, how it ended; near misses and failures first."""
    order = {word: place for place, word in enumerate(("let_go", "joint_opened", "near_miss", "taken_off_uneasy"))}
    shown = sorted(field, key=lambda entry: (order.get(entry.end or "", len(order)), -entry.diameter_mm))
    rows = tuple(
        (
            _said(entry.end) or "in use",
            f"{_n(entry.diameter_mm)} x {_n(entry.length_mm)} mm",
            _said(entry.worst_catch) or "none",
            entry.verdict,
            margin_words(entry.margin_lower),
            rounded(entry.hours),
        )
        for entry in shown
    )
    head = ("how it ended", "blank", "heaviest catch", "said before", "margin said", "hours")
    return Table("How mounts of these joints went", head, rows, frozenset({4, 5}))


def _strength_words(published: PublishedPull) -> str:
    lower, upper = published.stress.lower_mpa, published.stress.upper_mpa
    if not published.stress.carries_information:
        return "nothing known"
    if upper is None:
        return f"over {rounded(lower)}"
    if lower == upper:
        return rounded(lower)
    return f"under {rounded(upper)}" if lower == 0.0 else f"{rounded(lower)} to {rounded(upper)}"


def _cell(value: object) -> str:
    if value is None:
        return ""
    return rounded(value, digits=4) if isinstance(value, float) else str(value)


def _n(value: Amount) -> str:
    return rounded(float(value))


def _said(word: object) -> str:
    return "" if word is None else str(word).replace("_", " ")
