"""A data package read back, trusting nothing in it: names, sizes, hashes, and the pulls as they were recorded."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from jointlab.errors import InputError, Problem
from jointlab.publish.package import DESCRIPTOR
from jointlab.publish.pulls_file import ENTERED, ENTERED_UNIT, STRENGTH_COLUMNS
from jointlab.record.columns import physical_columns
from jointlab.record.csv_file import as_meant, gathered, streamed_rows
from jointlab.record.pull import Pull

PULLS = "pulls.csv"
MOST_ROWS = 1_000_000
_NAME = re.compile(r"[A-Za-z0-9_.\- ]+(/[A-Za-z0-9_.\- ]+)?")
_WORKED_OUT = frozenset(STRENGTH_COLUMNS)


class _Read(BaseModel):
    model_config = ConfigDict(frozen=True, extra="ignore", strict=True, allow_inf_nan=False)


class ResourcePart(_Read):
    """One file as the descriptor has it."""

    path: str = Field(max_length=200)
    bytes: int = Field(ge=0)
    hash: str = Field(pattern=r"^sha256:[0-9a-f]{64}$")


class MountPart(_Read):
    """One mount as the descriptor has it, with what is needed to ask about it again."""

    name: str = Field(max_length=200)
    verdict: str = Field(max_length=200)
    described: str | None = Field(max_length=200)
    look: dict[str, Any] | None = None
    proofed: float | None = None
    glue_ups: list[str] = Field(default=[])


class MadePart(_Read):
    """The program's own part of the descriptor."""

    schema_: int = Field(alias="schema", ge=1)
    program_version: str = Field(max_length=40)
    chain: str | None = Field(default=None, pattern=r"^[0-9a-f]{64}$")
    book: str | None = Field(default=None, pattern=r"^[0-9a-f]{64}$")
    question: str | None = None
    provenance: str | None = None
    paper: str = "a4"
    envelopes: bool = False
    disclosed: list[str] = Field(default=[])
    libraries: dict[str, str] = Field(default={})
    mounts: list[MountPart] = Field(default=[])


class LicencePart(_Read):
    """Licence of the data."""

    name: str = Field(max_length=200)


class ContributorPart(_Read):
    """Who published."""

    title: str = Field(max_length=200)


class DescriptorPart(_Read):
    """The descriptor, as far as it is read."""

    title: str = Field(max_length=400)
    created: str = Field(max_length=40)
    licenses: list[LicencePart] = Field(min_length=1)
    contributors: list[ContributorPart] = Field(default=[])
    jointlab: MadePart
    resources: list[ResourcePart] = Field(min_length=1, max_length=5000)


@dataclass(frozen=True, slots=True)
class ReadPackage:
    """A package whose files are what its descriptor says: the descriptor, every file, and its pulls."""

    descriptor: DescriptorPart
    files: Mapping[str, bytes]
    pulls: tuple[Pull, ...]

    @property
    def shop(self) -> str | None:
        """Name of the shop, where it is told."""
        return self.descriptor.contributors[0].title if self.descriptor.contributors else None


def package_read(files: Mapping[str, bytes], *, name: str) -> ReadPackage:
    """The package in these files.

    Parameters
    ----------
    files
        Content by relative name.
    name
        What the package is called in messages.

    Raises
    ------
    InputError
        With every file that is missing, changed, not described or badly named; or the descriptor or the pulls cannot be
        read.
    """
    descriptor = _descriptor_of(files, name)
    described = {resource.path: resource for resource in descriptor.resources}
    problems = [
        Problem("is no name of a file within the package", column=path) for path in described if not _named(path)
    ]
    if len(described) != len(descriptor.resources):
        problems.append(Problem("a file is described twice", value=DESCRIPTOR))
    problems += [Problem("is described and not there", column=path) for path in described if path not in files]
    strays = sorted(set(files) - set(described) - {DESCRIPTOR})
    problems += [Problem("is there and not described", column=path) for path in strays]
    problems += [
        Problem("is not the file that was described: its size or hash differs", column=path)
        for path, resource in described.items()
        if path in files and not _as_described(files[path], resource)
    ]
    if PULLS not in described:
        problems.append(Problem("is needed", value=PULLS))
    if problems:
        raise InputError(problems[:100], subject=name)
    return ReadPackage(descriptor, files, pulls_of_table(files[PULLS], name=f"{name}: {PULLS}"))


def _descriptor_of(files: Mapping[str, bytes], name: str) -> DescriptorPart:
    if DESCRIPTOR not in files:
        raise InputError(Problem(f"holds no {DESCRIPTOR}: name the folder or zip of a data package"), subject=name)
    try:
        read = json.loads(files[DESCRIPTOR].decode("utf-8"))
        return DescriptorPart.model_validate(read)
    except ValidationError as failure:
        problems = [
            Problem(f"{'.'.join(map(str, error['loc']))}: {error['msg']}", value=DESCRIPTOR)
            for error in failure.errors()[:20]
        ]
        raise InputError(problems, subject=name) from None
    except (ValueError, RecursionError):
        raise InputError(Problem("is no JSON", value=DESCRIPTOR), subject=name) from None


def _named(path: str) -> bool:
    return bool(_NAME.fullmatch(path)) and ".." not in path and not path.startswith((".", "/", " "))


def _as_described(content: bytes, resource: ResourcePart) -> bool:
    return len(content) == resource.bytes and f"sha256:{hashlib.sha256(content).hexdigest()}" == resource.hash


def pulls_of_table(content: bytes, *, name: str) -> tuple[Pull, ...]:
    """The pulls of a published table: columns worked out from them are passed over, what was entered is kept.

    Raises
    ------
    InputError
        With every problem of the table at once, as for any file of pulls.
    """
    try:
        rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as failure:
        raise InputError(Problem(f"cannot be read as a table: {failure}"), subject=name) from None
    if not rows or len(rows) > MOST_ROWS + 1 or b"\0" in content:
        raise InputError(Problem(f"must hold a header and at most {MOST_ROWS} pulls, and no zero byte"), subject=name)
    header, filled = (
        rows[0],
        [(number, row) for number, row in enumerate(rows[1:], start=2) if any(map(str.strip, row))],
    )
    kept = [place for place, title in enumerate(header) if not _worked_out(title)]
    cells = ((number, _meant(row, kept)) for number, row in filled)
    stream = streamed_rows([header[place].strip() for place in kept], cells, name=name)
    entered = _entered_places(header)
    pulls = zip(gathered(stream, name=name).pulls, filled, strict=True)
    return tuple(replace(pull, entered=_entered_in(row, entered)) for pull, (_, row) in pulls)


def _worked_out(title: str) -> bool:
    return title.endswith((ENTERED, ENTERED_UNIT)) or title in _WORKED_OUT


def _meant(row: list[str], kept: list[int]) -> list[str]:
    return [as_meant(row[place]) if row[place][:1] == "'" else row[place] for place in kept if place < len(row)]


def _entered_places(header: list[str]) -> list[tuple[str, int, int]]:
    """Base word of each measure that is kept as entered, and the places of number and unit."""
    places = {title: place for place, title in enumerate(header)}
    bases = dict.fromkeys(base for base, _ in physical_columns().values())
    return [
        (base, places[base + ENTERED], places[base + ENTERED_UNIT])
        for base in bases
        if base + ENTERED in places and base + ENTERED_UNIT in places
    ]


def _entered_in(row: list[str], places: list[tuple[str, int, int]]) -> tuple[tuple[str, str], ...]:
    return tuple(
        (f"{base}_{row[unit]}", as_meant(row[number]))
        for base, number, unit in places
        if max(number, unit) < len(row) and row[number] and row[unit]
    )
