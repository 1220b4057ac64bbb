"""A mount as it stands in the address of its page, and as the document it describes."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any
from urllib.parse import urlencode

from pydantic.fields import FieldInfo

from jointlab.app.web.forms import number_text
from jointlab.mount.document import LISTED_SECTION, toml_text
from jointlab.mount.form import ASSUMPTION_LIMITS, NEEDED_SECTIONS, SECTIONS
from jointlab.mount.setup import LoadAssumptions
from jointlab.publish.wording import factor_words

NAME = "name"
JOINTS = "joints"
MOST_JOINTS = 12
USUAL_NAME = "mount"

TITLES = {
    "blank": "Blank",
    "joint": "Joint: blank to waste block",
    "block": "Waste block",
    "lathe": "Lathe",
    "screws": "Screws",
    "hold": "How it is held",
    "work": "Work",
    "support": "Tailstock",
    "people": "People",
    "criteria": "What is asked of it",
    "factors": "Factors and assumptions set by hand",
}
"""Sections in the order of the form, as it calls them; those that are needed first."""

LABELS = {
    "blank.centre_mm": "centre of mass above the glue line",
    "blank.offset_mm": "centre of mass off the axis",
    "blank.state": "how true it is",
    "blank.density_kg_m3": "density, if not weighed",
    "blank.wood": "wood, if neither",
    "joint.substrate": "glued to",
    "joint.age_h": "age of the joint",
    "joint.void_pct": "voids",
    "joint.void_at_rim": "voids at the rim",
    "joint.surface": "faces were",
    "joint.hole_mm": "hole",
    "joint.width_mm": "width",
    "joint.batch": "glue-up",
    "screws.circle_mm": "circle they stand on",
    "screws.thread_mm": "thread in the block",
    "screws.edge_mm": "to the edge of the block",
    "screws.pilot": "in pilot holes",
    "screws.reused": "in used holes",
    "lathe.rpm": "speed",
    "lathe.motor_w": "motor",
    "lathe.base_rpm": "speed up to which the motor gives its full torque",
    "lathe.rotor_kg_m2": "inertia of what turns with it",
    "work.reach_mm": "furthest cut from the glue line",
    "work.min_radius_mm": "least radius cut",
    "hold.plate_mm": "diameter of the plate",
    "support.tailstock_mm": "its point above the glue line",
    "people.learner": "a learner turns",
    "people.bystanders": "others stand by",
    "criteria.coverage": "share of joints that must be stronger",
    "criteria.catch": "catch to be stood",
}
UNITS = {
    "rpm": "rpm",
    "kg_m3": "kg/m³",
    "kg_m2": "kg m²",
    "mm": "mm",
    "kg": "kg",
    "pct": "%",
    "h": "h",
    "w": "W",
    "n": "N",
}
LEFT_OUT = {
    "blank.centre_mm": "half the length",
    "blank.offset_mm": "by how true it is",
    "work.reach_mm": "the blank's length",
    "work.min_radius_mm": "half the blank's radius",
    "support.tailstock_mm": "the blank's length",
    "criteria.margin": "1.5, or 2 with a learner, bystanders or a large blank",
    "block.grain": "face",
}
"""What stands in for a key that is left out, where it is no fixed value."""

_ASSUMED = LoadAssumptions()


@dataclass(frozen=True, slots=True)
class Entry:
    """One key of a mount as a field: its words where they are a closed list, and what counts if it is left out."""

    column: str
    label: str
    unit: str
    words: tuple[str, ...]
    numeric: bool
    left_out: str
    needed: bool


def entries_of(section: str, place: str | None = None) -> tuple[Entry, ...]:
    """The fields of a section; ``place`` is where it stands if it is one of many."""
    return tuple(_entry(f"{section}.{key}", f"{place or section}.{key}", info)
                 for key, info in SECTIONS[section].model_fields.items())  # fmt: skip


def _entry(key: str, column: str, info: FieldInfo) -> Entry:
    kinds = _kinds(info.annotation)
    words = next((tuple(map(str, kind)) for kind in kinds if issubclass(kind, StrEnum)), ())
    words = ("true", "false") if bool in kinds else words
    bare = key.partition(".")[2]
    suffix = next((each for each in UNITS if bare == each or bare.endswith(f"_{each}")), "")
    label = LABELS.get(key, bare.removesuffix(f"_{suffix}").replace("_", " ") if suffix else bare.replace("_", " "))
    usual = "" if info.is_required() or info.default in (None, "") else _text(info.default)
    if key.startswith("factors."):
        label, usual = factor_words(bare), _text(getattr(_ASSUMED, bare)) if bare in ASSUMPTION_LIMITS else "worked out"
    needed = info.is_required() and key.partition(".")[0] in NEEDED_SECTIONS
    return Entry(column, label, UNITS.get(suffix, ""), words, bool({int, float} & kinds) and not words,
                 LEFT_OUT.get(key, usual), needed)  # fmt: skip


def _kinds(annotation: Any) -> set[type]:
    if isinstance(annotation, type):
        return {annotation}
    if typing.get_origin(annotation) in (typing.Union, types.UnionType, typing.Annotated):
        return {kind for part in typing.get_args(annotation) for kind in _kinds(part)}
    return set()


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:.15g}" if isinstance(value, float) else str(value)


@dataclass(frozen=True, slots=True)
class MountState:
    """What is said of a mount: ``texts`` by column, nothing empty."""

    name: str
    texts: Mapping[str, str]
    joints: int = 0

    @property
    def query(self) -> str:
        """As it stands in the address."""
        named = {NAME: self.name} if self.name != USUAL_NAME else {}
        joints = {JOINTS: str(self.joints)} if self.joints > _joints_in(self.texts) else {}
        return urlencode({**named, **joints, **self.texts})

    def changed(self, settings: Iterable[tuple[str, Any]]) -> MountState:
        """The state with some keys set anew."""
        return MountState(self.name, {**self.texts, **{key: _text(value) for key, value in settings}}, self.joints)

    @property
    def document(self) -> dict[str, Any]:
        """Sections and keys, as a mount's TOML holds them."""
        found: dict[str, Any] = {}
        for entry in entries(self.joints):
            if entry.column in self.texts:
                *section, key = entry.column.split(".")
                if section[0] == LISTED_SECTION:
                    listed = found.setdefault(LISTED_SECTION, [])
                    listed.extend({} for _ in range(int(section[1]) - len(listed)))
                    listed[int(section[1]) - 1][key] = _value(entry, self.texts[entry.column])
                else:
                    found.setdefault(section[0], {})[key] = _value(entry, self.texts[entry.column])
        return found


def entries(joints: int) -> tuple[Entry, ...]:
    """Every field of a mount with so many joints inside its blank."""
    own = tuple(entry for section in TITLES for entry in entries_of(section))
    inside = (entries_of(LISTED_SECTION, f"{LISTED_SECTION}.{number}") for number in range(1, joints + 1))
    return (*own, *(entry for each in inside for entry in each))


def _value(entry: Entry, text: str) -> object:
    if set(entry.words) == {"true", "false"}:
        return {"true": True, "false": False}.get(text, text)
    if not entry.numeric:
        return text
    bare = number_text(text)
    for kind in (int, float):
        try:
            return kind(bare) if "_" not in bare else text
        except ValueError:
            continue
    return text


def _joints_in(texts: Mapping[str, str]) -> int:
    numbers = [column.split(".")[1] for column in texts if column.startswith(f"{LISTED_SECTION}.")]
    return max((int(number) for number in numbers if number.isdecimal() and len(number) < 4), default=0)


def state_of(fields: Mapping[str, Any]) -> MountState:
    """The state these fields hold; whatever is no key of a mount is passed over."""
    given = {key: text.strip() for key, text in fields.items() if isinstance(text, str) and text.strip()}
    asked = given.get(JOINTS, "0")
    joints = max(int(asked) if asked.isdecimal() and len(asked) < 4 else 0, _joints_in(given))
    joints = min(joints, MOST_JOINTS)
    known = {entry.column for entry in entries(joints)}
    name = " ".join(given.get(NAME, USUAL_NAME).split())[:100]
    return MountState(name, {key: text for key, text in given.items() if key in known}, joints)


def state_of_document(document: Mapping[str, object], *, name: str) -> MountState:
    """The state a mount's document describes; what is no key of a mount is passed over."""
    fields: dict[str, str] = {}
    for section, keys in document.items():
        rows = keys if isinstance(keys, list) else [keys]
        for number, row in enumerate(rows, start=1):
            place = f"{section}.{number}" if isinstance(keys, list) else section
            if isinstance(row, Mapping):
                fields |= {f"{place}.{key}": _text(value) for key, value in row.items()}
    return state_of({**fields, NAME: name})


def toml_of(state: MountState) -> str:
    """The mount as the TOML file that describes it."""
    return toml_text(state.document)
