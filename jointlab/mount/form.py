"""The mount at the door: the sections and keys of its TOML, with limits and defaults (frozen for schema 1)."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model

from jointlab.errors import Problem
from jointlab.mount.setup import (
    BlankGrain,
    BlankState,
    CatchClass,
    Grain,
    HoldKind,
    LatheSize,
    Surface,
    Tailstock,
)
from jointlab.record.row import Name
from jointlab.record.vocabulary import Interlayer, Shape, SubstrateKind

Length = Annotated[float, Field(gt=0, le=10_000)]
Distance = Annotated[float, Field(ge=0, le=10_000)]
Moisture = Annotated[float, Field(ge=0, le=250)]
Preparation = Annotated[str, Field(max_length=200)]

LARGEST_VOID_PCT = 30.0
"""Voids above this share are refused: the section's ratios are not known beyond it (judgement)."""


class SectionForm(BaseModel):
    """A section of the TOML. Values keep their TOML type: a number is not text, text is not a number."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class BlankForm(SectionForm):
    """``[blank]``."""

    diameter_mm: Length
    length_mm: Length
    mass_kg: Annotated[float, Field(gt=0, le=10_000)] | None = None
    density_kg_m3: Annotated[float, Field(gt=0, le=3000)] | None = None
    wood: Name | None = None
    centre_mm: Distance | None = None
    offset_mm: Distance | None = None
    state: Annotated[BlankState, Field(strict=False)] = BlankState.TRUED
    grain: Annotated[BlankGrain, Field(strict=False)] = BlankGrain.FACE
    moisture_pct: Moisture | None = None


class BlankJointForm(SectionForm):
    """``[[blank_joint]]``."""

    height_mm: Distance
    outer_mm: Length
    inner_mm: Distance = 0.0
    glue: Name
    substrate: Name
    preparation: Preparation = ""


class JointForm(SectionForm):
    """``[joint]``."""

    glue: Name
    substrate: Name
    preparation: Preparation = ""
    shape: Annotated[Shape, Field(strict=False)]
    diameter_mm: Length | None = None
    hole_mm: Length | None = None
    width_mm: Length | None = None
    depth_mm: Length | None = None
    void_pct: Annotated[float, Field(ge=0, le=LARGEST_VOID_PCT)] = 0.0
    void_at_rim: bool = True
    age_h: Annotated[float, Field(ge=0, le=1e6)]
    surface: Annotated[Surface, Field(strict=False)] = Surface.CLEAN
    interlayer: Annotated[Interlayer, Field(strict=False)] = Interlayer.NONE
    gap_mm: Annotated[float, Field(ge=0, le=100)] | None = None
    batch: Name | None = None


class BlockForm(SectionForm):
    """``[block]``."""

    thickness_mm: Length
    wood: Name | None = None
    kind: Annotated[SubstrateKind, Field(strict=False)] | None = None
    grain: Annotated[Grain, Field(strict=False)] | None = None
    moisture_pct: Moisture | None = None


class HoldForm(SectionForm):
    """``[hold]``."""

    kind: Annotated[HoldKind, Field(strict=False)] = HoldKind.FACEPLATE
    plate_mm: Length | None = None


class ScrewsForm(SectionForm):
    """``[screws]``."""

    count: Annotated[int, Field(ge=1, le=100)]
    circle_mm: Length
    diameter_mm: Annotated[float, Field(gt=0, le=30)]
    thread_mm: Length
    pilot: bool = True
    reused: bool = False
    edge_mm: Distance | None = None


class LatheForm(SectionForm):
    """``[lathe]``."""

    rpm: Annotated[float, Field(gt=0, le=10_000)]
    motor_w: Annotated[float, Field(gt=0, le=100_000)]
    size: Annotated[LatheSize, Field(strict=False)] | None = None
    rotor_kg_m2: Annotated[float, Field(gt=0, le=100)] | None = None
    base_rpm: Annotated[float, Field(gt=0, le=10_000)] = 300.0


class WorkForm(SectionForm):
    """``[work]``."""

    reach_mm: Distance | None = None
    min_radius_mm: Distance | None = None
    minutes: Annotated[float, Field(gt=0, le=100_000)] = 30.0


class SupportForm(SectionForm):
    """``[support]``."""

    tailstock: Annotated[Tailstock, Field(strict=False)] = Tailstock.NONE
    tailstock_mm: Length | None = None


class PeopleForm(SectionForm):
    """``[people]``."""

    learner: bool = False
    bystanders: bool = False


class CriteriaForm(SectionForm):
    """``[criteria]``."""

    coverage: Annotated[float, Field(ge=0.5, le=0.999)] = 0.95
    confidence: Annotated[float, Field(ge=0.5, le=0.999)] = 0.95
    margin: Annotated[float, Field(ge=1, le=100)] | None = None
    catch: Annotated[CatchClass, Field(strict=False)] = CatchClass.SEVERE


FACTOR_NAMES: tuple[str, ...] = tuple(
    f"{name}_{way}"
    for name in ("size", "edge", "fatigue", "duration", "moisture", "cure", "surface", "grain", "operator")
    for way in ("tension", "shear")
)
"""The closed list of factors from test to service that ``[factors]`` may override."""

LARGEST_FACTOR = 10.0

_Factor = Annotated[float, Field(gt=0, le=LARGEST_FACTOR)]
_Force = Annotated[float, Field(ge=1, le=100_000)]
_Share = Annotated[float, Field(ge=0, le=2)]

ASSUMPTION_LIMITS: dict[str, Any] = {
    "light_n": _Force,
    "firm_n": _Force,
    "severe_n": _Force,
    "cut_n": _Force,
    "radial_share": _Share,
    "axial_share": _Share,
    "pull_out": Annotated[float, Field(ge=1, le=10)],
    "sudden": Annotated[float, Field(ge=1, le=4)],
    "stopping_mm": Annotated[float, Field(ge=1, le=1000)],
    "tailstock_least": Annotated[float, Field(ge=0, le=1)],
}
"""What ``[factors]`` takes for each field of ``LoadAssumptions``: wider than the range it may honestly lie in."""


def _factors_form() -> type[SectionForm]:
    """``[factors]``: every factor and every assumption of the loads, each for itself."""
    fields: dict[str, Any] = dict.fromkeys(FACTOR_NAMES, (_Factor | None, None))
    fields |= {name: (limits | None, None) for name, limits in ASSUMPTION_LIMITS.items()}
    form: type[SectionForm] = create_model("FactorsForm", __base__=SectionForm, **fields)
    return form


SECTIONS: dict[str, type[SectionForm]] = {
    "blank": BlankForm,
    "blank_joint": BlankJointForm,
    "joint": JointForm,
    "block": BlockForm,
    "hold": HoldForm,
    "screws": ScrewsForm,
    "lathe": LatheForm,
    "work": WorkForm,
    "support": SupportForm,
    "people": PeopleForm,
    "criteria": CriteriaForm,
    "factors": _factors_form(),
}
"""Every section."""

NEEDED_SECTIONS = ("blank", "joint", "block", "lathe")


def section_form(name: str, keys: object, *, at: str | None = None) -> SectionForm | tuple[Problem, ...]:
    """The checked section, or every problem with it.

    Parameters
    ----------
    name
        Name of the section.
    keys
        What the document holds there.
    at
        Where it stands, for the messages; the name unless it is one of many.
    """
    place = at or name
    if not isinstance(keys, Mapping):
        return (Problem(f"must be a section of keys: [{name}]", column=place, value=str(keys)),)
    try:
        return SECTIONS[name].model_validate(dict(keys))
    except ValidationError as failure:
        return tuple(_key_problem(error, SECTIONS[name], keys, place) for error in failure.errors())


_PLAIN: dict[str, str] = {
    "float_type": "must be a number",
    "finite_number": "must be a number",
    "int_type": "must be a whole number",
    "bool_type": "must be true or false",
    "string_type": 'must be text in quotes: "..."',
    "string_too_short": "must not be empty",
}


def _key_problem(error: Any, form: type[SectionForm], keys: Mapping[str, object], place: str) -> Problem:
    key = str(error["loc"][0])
    column = f"{place}.{key}"
    if error["type"] == "extra_forbidden":
        return unknown_key(column, key, tuple(form.model_fields), value=keys[key])
    allowed = allowed_words(form, key)
    if error["type"] == "missing":
        return Problem("is needed" + (f": {allowed}" if allowed else ""), column=column, allowed=allowed)
    match error["type"]:
        case "enum" | "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            message = f"must be {allowed}"
        case "string_too_long":
            allowed = f"at most {error['ctx']['max_length']} characters"
            message = f"must be {allowed}"
        case "value_error":
            message = str(error["ctx"]["error"])
        case kind:
            message = _PLAIN.get(kind, str(error["msg"]))
    return Problem(message, column=column, value=shown(keys.get(key)), allowed=allowed)


def unknown_key(column: str, key: str, known: tuple[str, ...], *, value: object) -> Problem:
    """The problem of a key that is not of the contract, with what was probably meant."""
    close = difflib.get_close_matches(key, known, n=3, cutoff=0.5)
    meant = f"did you mean {' or '.join(close)}?" if close else f"known: {', '.join(known)}"
    return Problem(f"is not a key of the mount: {meant}", column=column, value=shown(value), allowed=", ".join(known))


def shown(value: object) -> str:
    """The value as TOML writes it."""
    try:
        return str(value).lower() if isinstance(value, bool) else str(value)
    except (ValueError, RecursionError):  # a whole number of thousands of digits, or lists in lists without end
        return "a value too long to show"


_BOUND_WORDS = {"gt": "greater than", "ge": "at least", "lt": "less than", "le": "at most"}


def allowed_words(form: type[BaseModel], key: str) -> str | None:
    """What may stand at a key, in words: its closed list or its limits; None when neither is closed."""
    field = form.model_fields[key]
    bounds: dict[str, float] = {}
    for part in _parts((field.annotation, *field.metadata)):
        if isinstance(part, type) and hasattr(part, "__members__"):
            return f"one of {', '.join(str(member) for member in part.__members__.values())}"
        bounds |= {word: getattr(part, word) for word in _BOUND_WORDS if getattr(part, word, None) is not None}
    if not bounds:
        return None
    return " and ".join(f"{_BOUND_WORDS[word]} {bounds[word]:g}" for word in _BOUND_WORDS if word in bounds)


def _parts(marks: tuple[object, ...]) -> Iterator[object]:
    for mark in marks:
        yield mark
        yield from _parts(tuple(getattr(mark, "metadata", ()) or ()))
        yield from _parts(tuple(getattr(mark, "__metadata__", ()) or ()))
        yield from _parts(tuple(getattr(mark, "__args__", ()) or ()))
