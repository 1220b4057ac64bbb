"""The data package: everything published, described so that another program can read and check it.

Data Package and Table Schema are open standards (version 2); this module writes the descriptor, the tables and the hash
of every file as bytes. Writing them to a folder is the caller's.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from jointlab.publish.field_file import FIELD_COLUMNS, FIELD_FILE, field_file
from jointlab.publish.licences import LICENCES
from jointlab.publish.publication import Publication
from jointlab.publish.pulls_file import ENTERED, ENTERED_UNIT, PullsFile, pulls_file
from jointlab.publish.tables import UNIT_WORDS, Columns, column_words
from jointlab.record.columns import physical_columns
from jointlab.record.csv_file import harmless
from jointlab.record.row import limits_of, words_of
from jointlab.strength.values import CombinationStrength

DESCRIPTOR = "datapackage.json"
OURS = "jointlab"
"""What the descriptor says beyond the open standard stands under this name."""

PACKAGE_SCHEMA = "https://datapackage.org/profiles/2.0/datapackage.json"
TABLE_SCHEMA = "https://datapackage.org/profiles/2.0/tableschema.json"
_MEDIA = {"csv": "text/csv", "html": "text/html", "json": "application/json", "pdf": "application/pdf",
          "png": "image/png", "svg": "image/svg+xml", "toml": "application/toml"}  # fmt: skip
_LIMITS = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}

Field = dict[str, Any]


def data_package(
    publication: Publication,
    *,
    files: Mapping[str, bytes] | None = None,
    chain: str | None = None,
    made: Mapping[str, Any] | None = None,
    found: Columns | None = None,
) -> dict[str, bytes]:
    """Every file of a package by its name, the descriptor among them.

    Parameters
    ----------
    publication
        What is published; ``disclosed`` first leaves out what the shop keeps private.
    files
        Page, PDF, figures, mounts, verdicts and whatever else belongs to it, by relative name.
    chain
        Hash of the chain of the book the pulls come from.
    made
        What else a reader needs to make the same again; goes into the descriptor beside the program's version.
    found
        The ``columns_of`` the pulls, where it is known already.

    Returns
    -------
    dict
        ``pulls.csv``, ``strengths.csv``, ``bounds.csv`` and ``families.csv`` in SI, ``files`` as given, and
        ``datapackage.json`` with size and SHA-256 of each. The same publication gives the same bytes.
    """
    pulls = pulls_file(publication.pulls, found)
    tables: dict[str, tuple[bytes, dict[str, Any]]] = {"pulls.csv": (pulls.content, _pulls_schema(pulls))}
    tables |= {"strengths.csv": _strengths(publication), "bounds.csv": _bounds(publication)}
    tables["families.csv"] = _families(publication)
    if publication.field:
        tables[FIELD_FILE] = (field_file(publication.field), _schema(FIELD_COLUMNS))
    contents = {name: content for name, (content, _) in tables.items()} | dict(files or {})
    resources = [_resource(name, content, tables.get(name)) for name, content in contents.items()]
    descriptor = _descriptor(publication, resources, chain, dict(made or {}))
    return contents | {DESCRIPTOR: sealed(descriptor)}


def sealed(descriptor: Mapping[str, Any]) -> bytes:
    """The descriptor as it is written, with the digest of all else it says, so that a changed byte of it shows too."""
    unsealed = {**descriptor, OURS: {name: value for name, value in descriptor[OURS].items() if name != "digest"}}
    digest = hashlib.sha256(_written(unsealed)).hexdigest()
    return _written({**unsealed, OURS: unsealed[OURS] | {"digest": digest}})


def _written(descriptor: Mapping[str, Any]) -> bytes:
    return (json.dumps(descriptor, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode("utf-8")


def _descriptor(
    publication: Publication, resources: list[dict[str, Any]], chain: str | None, made: dict[str, Any]
) -> dict[str, Any]:
    title, path = LICENCES.get(publication.licence, (publication.licence, None))
    licence = {"name": publication.licence, "title": title} | ({"path": path} if path else {})
    described = {
        "$schema": PACKAGE_SCHEMA,
        "name": "jointlab-publication",
        "title": publication.title,
        "description": publication.provenance or "Pull-apart tests of glue joints, as recorded by the shop.",
        "created": f"{publication.dated_on[:10]}T00:00:00Z",
        "keywords": ["woodturning", "glue joints", "pull-apart test"],
        "licenses": [licence],
        "sources": [{"title": source.text} for source in publication.sources],
        OURS: {
            "schema": 1,
            "program_version": publication.program_version,
            "methods": [note.title for note in publication.methods],
            "chain": chain,
            "question": publication.question,
            "provenance": publication.provenance,
            **made,
        },
        "resources": resources,
    }
    if publication.shop:
        described["contributors"] = [{"title": publication.shop, "roles": ["author"]}]
    return described


def _resource(name: str, content: bytes, table: tuple[bytes, dict[str, Any]] | None) -> dict[str, Any]:
    stem, _, form = name.rpartition(".")
    called = stem if table is not None else name  # a figure comes in two forms, a mount in two files
    described: dict[str, Any] = {
        "name": "".join(letter if letter.isalnum() else "-" for letter in called.lower()),
        "path": name,
        "format": form,
        "mediatype": _MEDIA.get(form, "application/octet-stream"),
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
    }
    if table is None:
        return described
    return described | {"type": "table", "encoding": "utf-8", "schema": table[1]}


def _pulls_schema(pulls: PullsFile) -> dict[str, Any]:
    return _schema([_pull_field(name) for name in pulls.columns], key=("batch", "specimen"))


def _schema(fields: Sequence[Field], *, key: Sequence[str] = ()) -> dict[str, Any]:
    schema: dict[str, Any] = {"$schema": TABLE_SCHEMA, "fields": list(fields), "missingValues": [""]}
    return schema | ({"primaryKey": list(key)} if key else {})


def _pull_field(name: str) -> Field:
    """Type, title, unit and limits of a column of pulls."""
    if name.endswith(ENTERED_UNIT):
        return {"name": name, "type": "string", "title": f"unit in which {name.removesuffix(ENTERED_UNIT)} was entered"}
    if name.endswith(ENTERED):
        return {"name": name, "type": "number", "title": f"{name.removesuffix(ENTERED)} as entered"}
    if name.endswith("_mpa"):
        return _number(name, "MPa", name.removesuffix("_mpa").replace("_", " "), {"minimum": 0})
    limits = limits_of(name)
    constraints: dict[str, Any] = {_LIMITS[word]: limit for word, limit in limits.items()}
    if name in physical_columns():
        return _number(name, UNIT_WORDS[physical_columns()[name][1]], column_words(name), constraints)
    if limits:
        return _number(name, None, column_words(name), constraints)
    words = words_of(name)
    if words:
        constraints["enum"] = list(words)
    if name in ("batch", "specimen"):
        constraints["required"] = True
    return {"name": name, "type": "string", "title": column_words(name)} | (
        {"constraints": constraints} if constraints else {}
    )


def _number(name: str, unit: str | None, title: str, constraints: Mapping[str, Any]) -> Field:
    field: Field = {"name": name, "type": "number", "title": title}
    if unit is not None:
        field["unit"] = unit
    return field | ({"constraints": dict(constraints)} if constraints else {})


_COMBINATION: tuple[Field, ...] = tuple(
    {"name": name, "type": "string", "title": name} for name in ("glue", "substrate", "preparation", "action")
)


def _strengths(publication: Publication) -> tuple[bytes, dict[str, Any]]:
    counts = ("n", "n_broke", "n_held", "n_usable", "batches")
    fields = [
        *_COMBINATION,
        *({"name": name, "type": "integer", "title": name, "constraints": {"minimum": 0}} for name in counts),
        {"name": "method", "type": "string", "title": "rule of the working bound"},
        _number("coverage", None, "share of joints that exceed the bound", {"minimum": 0, "maximum": 1}),
        _number("confidence", None, "confidence of the bound", {"minimum": 0, "maximum": 1}),
        _number("bound_mpa", "MPa", "strength that can be relied on", {}),
        _number("upper_mpa", "MPa", "upper bound of the same percentile", {}),
    ]
    rows = [
        (*_combination_cells(strength), *(getattr(strength, name) for name in counts), bound.method, bound.coverage,
         bound.confidence, bound.bound_mpa, bound.upper_mpa)
        for strength in publication.strengths
        for bound in (strength.working_bound,)
    ]  # fmt: skip
    return _table(fields, rows), _schema(fields)


def _bounds(publication: Publication) -> tuple[bytes, dict[str, Any]]:
    fields = [
        *_COMBINATION,
        {"name": "method", "type": "string", "title": "method"},
        {"name": "family", "type": "string", "title": "family, where the method takes one"},
        _number("coverage", None, "share of joints that exceed the bound", {"minimum": 0, "maximum": 1}),
        _number("confidence", None, "confidence of the bound", {"minimum": 0, "maximum": 1}),
        _number("bound_mpa", "MPa", "lower bound; empty where the method does not apply", {}),
    ]
    rows = [
        (*_combination_cells(strength), bound.method, bound.family, bound.coverage, bound.confidence, bound.bound_mpa)
        for strength in publication.strengths
        for bound in strength.bounds
    ]
    return _table(fields, rows), _schema(fields)


def _families(publication: Publication) -> tuple[bytes, dict[str, Any]]:
    fields = [
        *_COMBINATION,
        {"name": "family", "type": "string", "title": "family"},
        {"name": "parameter", "type": "string", "title": "parameter, named with its unit"},
        _number("value", None, "value of the parameter", {}),
        _number("log_likelihood", None, "log-likelihood, densities in 1/MPa", {}),
        _number("aicc", None, "Akaike's criterion corrected for small samples", {}),
    ]
    rows = [
        (*_combination_cells(strength), fit.family, name, value, fit.log_likelihood, fit.aicc)
        for strength in publication.strengths
        for fit in strength.families
        for name, value in fit.parameters
    ]
    return _table(fields, rows), _schema(fields)


def _combination_cells(strength: CombinationStrength) -> tuple[str, ...]:
    combination = strength.combination
    return (combination.glue, combination.substrate, combination.preparation, str(strength.action))


def _table(fields: Iterable[Field], rows: Iterable[Sequence[object]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([field["name"] for field in fields])
    writer.writerows(
        ["" if cell is None else repr(cell) if isinstance(cell, float) else harmless(str(cell)) for cell in row]
        for row in rows
    )
    return out.getvalue().encode("utf-8")
