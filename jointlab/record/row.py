"""The pull at the door: one flat row in SI, its limits, and the rules between its cells.

``PullRow`` is the contract's table of columns. The CSV reader, the command line, the JSON output and the book's CHECKs
all take names and limits from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from jointlab.errors import InputError, Problem
from jointlab.record.dates import hours_between, iso_text
from jointlab.record.joint import Combination, Disc, Joint, Outline, Rectangle, Ring
from jointlab.record.limits import cell_problem, limits_in, words_in
from jointlab.record.names import tidied
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.vocabulary import (
    Action,
    AdhesiveSide,
    BrokeAt,
    GlueFamily,
    GrainToLoad,
    Interlayer,
    Outcome,
    Shape,
    SubstrateKind,
)

NAME_LENGTH = 200
NOTE_LENGTH = 4000
SHARES = ("wood_pct", "cohesive_pct", "adhesive_pct", "delamination_pct", "paper_pct")
SHARES_TOLERANCE_PCT = 1.0

_SIZES = {
    Shape.DISC: ("diameter_mm",),
    Shape.RING: ("diameter_mm", "hole_mm"),
    Shape.RECTANGLE: ("width_mm", "depth_mm"),
}


def _name(text: str) -> str:
    clean = tidied(text)
    if not clean.isprintable():
        raise ValueError("must not contain control characters")
    return clean


def _note(text: str) -> str:
    if any(not (letter.isprintable() or letter in "\n\t") for letter in text):
        raise ValueError("must not contain control characters")
    return text.strip()


Name = Annotated[str, AfterValidator(_name), Field(min_length=1, max_length=NAME_LENGTH)]
Note = Annotated[str, AfterValidator(_note), Field(max_length=NOTE_LENGTH)]
When = Annotated[str, AfterValidator(iso_text)]
Length = Annotated[float, Field(gt=0, le=10_000)]
Reach = Annotated[float, Field(ge=0, le=10_000)]
Force = Annotated[float, Field(gt=0, le=1e7)]
Torque = Annotated[float, Field(gt=0, le=1e6)]
Hours = Annotated[float, Field(ge=0, le=1e6)]
Share = Annotated[float, Field(ge=0, le=100)]


class PullRow(BaseModel):
    """One pull as a flat row: the contract's columns in SI, None where blank."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    batch: Name | None = None
    specimen: Name | None = None
    tested_on: When | None = None
    glue: Name | None = None
    substrate: Name | None = None
    preparation: Name | None = None
    blank_wood: Name | None = None
    glue_family: GlueFamily | None = None
    substrate_kind: SubstrateKind | None = None
    interlayer: Interlayer | None = None
    action: Action | None = None
    grain_to_load: GrainToLoad | None = None
    shape: Shape | None = None
    diameter_mm: Length | None = None
    hole_mm: Length | None = None
    width_mm: Length | None = None
    depth_mm: Length | None = None
    void_pct: Annotated[float, Field(ge=0, lt=100)] | None = None
    load_n: Force | None = None
    torque_nm: Torque | None = None
    arm_mm: Length | None = None
    offset_mm: Reach | None = None
    outcome: Outcome | None = None
    held_n: Force | None = None
    held_nm: Torque | None = None
    wood_pct: Share | None = None
    cohesive_pct: Share | None = None
    adhesive_pct: Share | None = None
    delamination_pct: Share | None = None
    paper_pct: Share | None = None
    adhesive_side: AdhesiveSide | None = None
    broke_at: BrokeAt | None = None
    glued_on: When | None = None
    cure_h: Hours | None = None
    clamp_h: Hours | None = None
    air_c: Annotated[float, Field(ge=-60, le=120)] | None = None
    humidity_pct: Share | None = None
    moisture_pct: Annotated[float, Field(ge=0, le=250)] | None = None
    spread_g_m2: Annotated[float, Field(gt=0, le=10_000)] | None = None
    grit: Annotated[float, Field(gt=0, le=100_000)] | None = None
    gap_mm: Annotated[float, Field(ge=0, le=100)] | None = None
    rig: Name | None = None
    uncertainty_pct: Annotated[float, Field(ge=0, lt=100)] | None = None
    cap_n: Force | None = None
    cap_nm: Torque | None = None
    load_step_n: Force | None = None
    load_step_nm: Torque | None = None
    excluded_because: Name | None = None
    notes: Note | None = None


COLUMNS: tuple[str, ...] = tuple(PullRow.model_fields)
"""Names of the columns in SI, in the order of the contract."""

REQUIRED = ("batch", "specimen", "tested_on", "glue", "substrate", "action", "shape", "outcome")


def checked_row(cells: Mapping[str, str], *, as_entered: Mapping[str, str] | None = None) -> PullRow:
    """The row of these cells, or every problem with them at once.

    Parameters
    ----------
    cells
        SI column name to text; blank cells left out.
    as_entered
        SI column name to the column as the user wrote it, for the messages.

    Raises
    ------
    InputError
        With one problem for each bad cell and each broken rule between cells.
    """
    names = as_entered or {}
    problems: list[Problem] = []
    try:
        row = PullRow.model_validate_strings(dict(cells))
    except ValidationError as failure:
        problems = [cell_problem(PullRow, error, cells, names) for error in failure.errors()]
        bad = {str(error["loc"][0]) for error in failure.errors() if error["loc"]}
        row = PullRow.model_validate_strings({name: text for name, text in cells.items() if name not in bad})
    else:
        bad = set()
    for column, message, allowed in _rules(row):
        if column not in bad:
            value = cells.get(column)
            problems.append(Problem(message, column=names.get(column, column), value=value, allowed=allowed))
    if problems:
        raise InputError(problems, subject="the pull")
    return row


def limits_of(column: str) -> dict[str, float]:
    """Limits of a numeric column of a pull: some of gt, ge, lt, le, in the column's SI unit."""
    return limits_in(PullRow, column)


def words_of(column: str) -> tuple[str, ...] | None:
    """The closed list of words of a column of a pull; None when it is not closed."""
    return words_in(PullRow, column)


Rule = tuple[str, str, str | None]


def _rules(row: PullRow) -> Iterator[Rule]:
    """Rules between the cells of a row: (column, message, what is allowed) for each one broken."""
    for column in REQUIRED:
        if getattr(row, column) is None:
            words = words_of(column)
            yield column, "is needed" + (f": one of {', '.join(words)}" if words else ""), None
    yield from _size_rules(row)
    yield from _load_rules(row)
    yield from _share_rules(row)
    yield from _date_rules(row)


def _size_rules(row: PullRow) -> Iterator[Rule]:
    if row.shape is None:
        return
    needed = _SIZES[row.shape]
    for column in ("diameter_mm", "hole_mm", "width_mm", "depth_mm"):
        given = getattr(row, column) is not None
        if column in needed and not given:
            yield column, f"a {row.shape} needs {column.removesuffix('_mm')}", " and ".join(needed)
        if column not in needed and given:
            yield column, f"does not belong to a {row.shape}: leave it blank", " and ".join(needed)
    if row.hole_mm is not None and row.diameter_mm is not None and row.hole_mm >= row.diameter_mm:
        yield "hole_mm", f"must be less than the diameter, {row.diameter_mm:g} mm", f"less than {row.diameter_mm:g} mm"


def _load_rules(row: PullRow) -> Iterator[Rule]:
    if row.action is None:
        return
    twist = row.action is Action.TWIST
    wanted, other = ("torque_nm", "load_n") if twist else ("load_n", "torque_nm")
    loads = "a torque" if twist else "a force"
    if getattr(row, other) is not None:
        yield other, f"a {row.action} is loaded by {loads}: enter {wanted.rsplit('_', 1)[0]}", None
    if getattr(row, wanted) is None:
        if row.outcome is Outcome.HANDLED:
            message = (
                "broke when handled: enter the smallest load that could have been read (no rig names its resolution)"
            )
        else:
            message = f"is needed: {loads} at failure, or the highest reached"
        yield wanted, message, None
    for base in ("held", "cap", "load_step"):
        wrong = f"{base}_n" if twist else f"{base}_nm"
        if getattr(row, wrong) is not None:
            yield (
                wrong,
                f"a {row.action} is loaded by {loads}: use the unit of {'a torque' if twist else 'a force'}",
                None,
            )
    yield from _held_rules(row, held="held_nm" if twist else "held_n", load=wanted)
    if row.action is Action.PRY and row.arm_mm is None:
        yield "arm_mm", "a pry needs the arm from the glue line to the line of pull", None
    if row.action is not Action.PRY and row.arm_mm is not None:
        yield "arm_mm", f"belongs to a pry, not to a {row.action}: leave it blank", None
    if row.action is not Action.PULL and row.offset_mm is not None:
        yield "offset_mm", f"belongs to a straight pull, not to a {row.action}: leave it blank", None


def _held_rules(row: PullRow, *, held: str, load: str) -> Iterator[Rule]:
    value, limit = getattr(row, held), getattr(row, load)
    if row.outcome is Outcome.STEP:
        if value is None:
            yield held, "outcome step needs the last load held", None
        elif limit is not None and value >= limit:
            yield held, f"must be less than the load at which it broke, {limit:g}", f"less than {limit:g}"
    elif value is not None and row.outcome is not None:
        yield held, f"belongs to outcome step, not {row.outcome}: leave it blank", None


def _share_rules(row: PullRow) -> Iterator[Rule]:
    given = {column: getattr(row, column) for column in SHARES if getattr(row, column) is not None}
    total = sum(given.values())
    if given and abs(total - 100.0) > SHARES_TOLERANCE_PCT:
        first = next(iter(given))
        yield first, f"the shares of the break must sum to 100 (within 1); they sum to {total:g}", "a sum of 99 to 101"


def _date_rules(row: PullRow) -> Iterator[Rule]:
    if row.glued_on is None or row.tested_on is None:
        return
    hours = hours_between(row.glued_on[:10], row.tested_on[:10])
    if hours is not None and hours < 0:
        yield "glued_on", f"must not be after tested_on, {row.tested_on}", f"at most {row.tested_on}"
    if hours is not None and row.cure_h is None and hours > limits_of("cure_h")["le"] - 24.0:
        yield "glued_on", f"is more than a century before tested_on, {row.tested_on}", None


def pull_of(row: PullRow, *, entered: tuple[tuple[str, str], ...] = ()) -> Pull:
    """The pull a checked row describes. ``entered`` keeps the physical cells as they were written."""
    twist = row.action is Action.TWIST

    def by_action(base: str) -> float | None:
        value: float | None = getattr(row, f"{base}_nm" if twist else f"{base}_n")
        return value

    load = row.torque_nm if twist else row.load_n
    assert row.batch is not None
    assert row.specimen is not None
    assert row.tested_on is not None
    assert row.action is not None
    assert row.outcome is not None
    assert load is not None
    shares = {name: getattr(row, name) for name in SHARES}
    if any(share is not None for share in shares.values()):
        shares = {name: share or 0.0 for name, share in shares.items()}
    return Pull(
        batch=row.batch,
        specimen=row.specimen,
        tested_on=row.tested_on,
        joint=_joint_of(row),
        action=row.action,
        loading=Loading(
            load=load,
            held=by_action("held"),
            cap=by_action("cap"),
            load_step=by_action("load_step"),
            arm_mm=row.arm_mm,
            offset_mm=row.offset_mm,
            uncertainty_pct=row.uncertainty_pct,
        ),
        outcome=row.outcome,
        broke=Break(broke_at=row.broke_at, adhesive_side=row.adhesive_side, **shares),
        conditions=Conditions(
            glued_on=row.glued_on,
            cure_h=row.cure_h if row.cure_h is not None else _cure_from_dates(row),
            clamp_h=row.clamp_h,
            air_c=row.air_c,
            humidity_pct=row.humidity_pct,
            moisture_pct=row.moisture_pct,
            spread_g_m2=row.spread_g_m2,
            grit=row.grit,
            gap_mm=row.gap_mm,
        ),
        rig=row.rig,
        excluded_because=row.excluded_because,
        notes=row.notes or None,
        entered=entered,
    )


def _cure_from_dates(row: PullRow) -> float | None:
    if row.glued_on is None or row.tested_on is None:
        return None
    hours = hours_between(row.glued_on, row.tested_on)
    return hours if hours is not None and hours >= 0 else None


def _joint_of(row: PullRow) -> Joint:
    assert row.glue is not None
    assert row.substrate is not None
    return Joint(
        combination=Combination(row.glue, row.substrate, row.preparation or ""),
        outline=_outline_of(row),
        blank_wood=row.blank_wood,
        glue_family=row.glue_family,
        substrate_kind=row.substrate_kind,
        interlayer=row.interlayer,
        grain_to_load=row.grain_to_load,
        void_pct=row.void_pct,
    )


def _outline_of(row: PullRow) -> Outline:
    match row.shape:
        case Shape.DISC:
            assert row.diameter_mm
            return Disc(row.diameter_mm)
        case Shape.RING:
            assert row.diameter_mm
            assert row.hole_mm
            return Ring(row.diameter_mm, row.hole_mm)
        case _:
            assert row.width_mm
            assert row.depth_mm
            return Rectangle(row.width_mm, row.depth_mm)


_PARTS: tuple[type[Any], ...] = (Joint, Loading, Break, Conditions)
_COLUMNS_OF_PARTS = tuple(tuple(name for name in COLUMNS if name in part.__dataclass_fields__) for part in _PARTS)
_BLANK: dict[str, Any] = dict.fromkeys(COLUMNS)


def row_of(pull: Pull) -> PullRow:
    """The flat row of a pull: the inverse of ``pull_of``."""
    return PullRow.model_construct(**row_cells(pull))


def row_cells(pull: Pull) -> dict[str, Any]:
    """Every column of a pull's row and what stands there, None where blank, in the order of the contract."""
    joint, loading, outline = pull.joint, pull.loading, pull.joint.outline
    suffix = "nm" if pull.is_twist else "n"
    cells = _BLANK | {
        "batch": pull.batch,
        "specimen": pull.specimen,
        "tested_on": pull.tested_on,
        "glue": joint.combination.glue,
        "substrate": joint.combination.substrate,
        "preparation": joint.combination.preparation or None,
        "action": pull.action,
        "shape": outline.shape,
        "diameter_mm": getattr(outline, "diameter_mm", None),
        "hole_mm": getattr(outline, "hole_mm", None),
        "width_mm": getattr(outline, "width_mm", None),
        "depth_mm": getattr(outline, "depth_mm", None),
        "torque_nm" if pull.is_twist else "load_n": loading.load,
        f"held_{suffix}": loading.held,
        f"cap_{suffix}": loading.cap,
        f"load_step_{suffix}": loading.load_step,
        "outcome": pull.outcome,
        "rig": pull.rig,
        "excluded_because": pull.excluded_because,
        "notes": pull.notes,
    }
    parts = (joint, loading, pull.broke, pull.conditions)
    for part, names in zip(parts, _COLUMNS_OF_PARTS, strict=True):
        for name in names:
            cells[name] = getattr(part, name)
    return cells
