"""A reading of a rig made into the load on the joint: what stands in its columns, by the rig it was read on."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from jointlab.record.finding import Finding
from jointlab.record.names import matched, tidied
from jointlab.record.pull import Pull
from jointlab.record.rig import Rig, RigLoad, joint_load, load_at, rig_findings, smallest_load
from jointlab.record.vocabulary import Action, Outcome
from jointlab.units import Quantity, units_of

READINGS = {Quantity.FORCE: "reading_n", Quantity.STRESS: "reading_mpa", Quantity.TORQUE: "reading_nm"}
"""Column of a reading by what the instrument shows."""

_SAID = {Quantity.FORCE: "N", Quantity.STRESS: "MPa", Quantity.TORQUE: "N m"}

KnownRigs = Callable[[], Mapping[str, Rig]]
"""Gives the rigs of the shop by their matched names; asked only when a row needs one."""

Cells = dict[str, str]


def no_rigs() -> Mapping[str, Rig]:
    """No rig is known: a file read apart from a shop book."""
    return {}


def by_name(rigs: Iterator[Rig] | tuple[Rig, ...]) -> dict[str, Rig]:
    """Rigs by the name that is matched without case."""
    return {matched(rig.name): rig for rig in rigs}


def with_loads(cells: Mapping[str, str], known: KnownRigs) -> tuple[Cells, tuple[tuple[str, str], ...]]:
    """The cells of a pull with the load its reading means, and what is wrong with the reading.

    Blank cells are filled and none is changed: the load with its standard uncertainty, the limit and step of the rig,
    on a bar the arm, with outcome ``step`` the load held one step before, and for a joint that broke when handled
    without any load the smallest that the rig shows.

    Parameters
    ----------
    cells
        SI column, or ``reading_*`` in N, MPa or N m, to text; blank cells left out.
    known
        Gives the rigs of the shop.

    Returns
    -------
    tuple
        Cells without the reading, and (column, message) for each problem.
    """
    shown = {column: cells[column] for column in READINGS.values() if column in cells}
    if not shown and ("load_n" in cells or "torque_nm" in cells):
        return dict(cells), ()
    plain = {column: text for column, text in cells.items() if column not in shown}
    blank = "load_n" not in plain and "torque_nm" not in plain
    if not shown:
        return (_handled(plain, known) if plain.get("outcome") == Outcome.HANDLED else plain), ()
    column, text = next(iter(shown.items()))
    if not blank:
        return plain, ((column, "the load stands there already: keep the reading or the load"),)
    if len(shown) > 1:
        return plain, ((column, f"is a second reading beside {list(shown)[1]}: keep one of them"),)
    if "rig" not in plain:
        return plain, ((column, "readings need a rig: name it in the column rig, or enter the load at the joint"),)
    rigs = known()
    rig = rigs.get(matched(plain["rig"]))
    if rig is None:
        return plain, (("rig", _unknown(plain["rig"], rigs)),)
    refused = _refusal(rig, column, float(text))
    if refused is not None:
        return plain, ((column, refused),)
    return _filled(plain, rig, joint_load(rig, float(text))), ()


def with_limits(pull: Pull, known: KnownRigs) -> Pull:
    """The pull with the limit and step of the rig it names, where they are blank and the rig is known.

    For a load that was entered as such: what it says stays as it is. A limit below the load is not that rig's.
    """
    rig = known().get(matched(pull.rig)) if pull.rig is not None else None
    if rig is None or (rig.kind.loads is Quantity.TORQUE) != pull.is_twist:
        return pull
    loading = pull.loading
    cap = None if rig.capacity is None else load_at(rig, rig.capacity)
    if cap is not None and cap < loading.load * (1.0 - 1e-9):
        cap = None
    step = None if rig.step is None else rig.step * abs(rig.ratio)
    limits = replace(
        loading,
        cap=cap if loading.cap is None else loading.cap,
        load_step=step if loading.load_step is None else loading.load_step,
    )
    return pull if limits == loading else replace(pull, loading=limits)


def rig_questions(pull: Pull, known: KnownRigs) -> tuple[Finding, ...]:
    """What to know of the rig a pull was read on, by its load and on the day of the test."""
    rig = known().get(matched(pull.rig)) if pull.rig is not None else None
    if rig is None:
        return ()
    fits = (rig.kind.loads is Quantity.TORQUE) == pull.is_twist
    return rig_findings(rig, peak=pull.loading.load if fits else None, today=pull.tested_on)


def _handled(plain: Cells, known: KnownRigs) -> Cells:
    rig = known().get(matched(plain["rig"])) if "rig" in plain else None
    least = None if rig is None else smallest_load(rig)
    return plain if rig is None or least is None else plain | {_load_column(rig): repr(least)}


def _load_column(rig: Rig) -> str:
    return "torque_nm" if rig.kind.loads is Quantity.TORQUE else "load_n"


def _unknown(name: str, rigs: Mapping[str, Rig]) -> str:
    if not rigs:
        return f"no rig {tidied(name)} is known: keep it with jointlab rigs keep, or enter the load at the joint"
    close = difflib.get_close_matches(matched(name), rigs, n=3, cutoff=0.4) or list(rigs)[:3]
    return f"no rig {tidied(name)} is known; there is {', '.join(rigs[key].name for key in close)}"


def _refusal(rig: Rig, column: str, reading: float) -> str | None:
    if READINGS[rig.kind.reads] != column:
        unit = READINGS[rig.kind.reads].removeprefix("reading_")
        return f"{rig.name} shows another quantity: write reading_{unit}, or another unit of it"
    if rig.capacity is not None and reading > rig.capacity * (1.0 + 1e-9):
        most = f"{rig.capacity:.6g} {_SAID[rig.kind.reads]}{_in_trade_units(rig.kind.reads, rig.capacity)}"
        return f"is more than {rig.name} can show, {most}: at its limit write that, with outcome held"
    load = load_at(rig, reading)
    if load <= 0.0:
        return f"means no load on the joint ({load:.4g}): the zero of {rig.name} is {rig.zero:g}"
    return None


def _in_trade_units(quantity: Quantity, value: float) -> str:
    """The value in the other units in which an instrument of this kind may be marked."""
    marked = [unit for unit in units_of(quantity) if unit.factor != 1.0 and not unit.said]
    return f" ({', '.join(f'{unit.from_stored(value):.4g} {unit.suffix}' for unit in marked)})" if marked else ""


def _filled(plain: Cells, rig: Rig, load: RigLoad) -> Cells:
    suffix = "nm" if rig.kind.loads is Quantity.TORQUE else "n"
    means: dict[str, float | None] = {
        _load_column(rig): load.load,
        "uncertainty_pct": load.uncertainty_pct,
        f"cap_{suffix}": load.cap,
        f"load_step_{suffix}": load.step,
    }
    if plain.get("action") == Action.PRY:
        means["arm_mm"] = rig.arm_mm
    if plain.get("outcome") == Outcome.STEP and load.step is not None and load.step < load.load:
        means[f"held_{suffix}"] = load.load - load.step
    return {column: repr(value) for column, value in means.items() if value is not None} | plain
