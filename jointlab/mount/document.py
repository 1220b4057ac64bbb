"""The mount's TOML as text and as a document, before it is checked."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from copy import deepcopy
from typing import Any

from jointlab.errors import InputError, Problem

LISTED_SECTION = "blank_joint"
"""The one section that may be given many times, ``[[blank_joint]]``; --set counts them from 1."""

SOURCE = "judgement"

MOST_DEEP = 10
"""Sections within sections: a mount has three at the most; what is nested deeper is refused (``SOURCE``)."""

MOST_JOINTS_DIGITS = 6

_PLACE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)$")


def document_of(text: str, *, name: str) -> dict[str, object]:
    """The document a mount's TOML text holds.

    Parameters
    ----------
    text
        The text of the file; a byte-order mark is passed over.
    name
        How the message calls the file.

    Raises
    ------
    InputError
        The text is not TOML: with the line; or it is nested deeper than any mount is.
    """
    too_deep = Problem("is nested too deeply: a mount has sections with keys, and no sections within them")
    try:
        document = tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as failure:
        raise InputError(_syntax_problem(str(failure), text), subject=name) from failure
    except RecursionError as failure:
        raise InputError(too_deep, subject=name) from failure
    except ValueError as failure:  # Python's own limit on the digits of a whole number
        raise InputError(Problem("holds a number of thousands of digits"), subject=name) from failure
    if _deeper(document, MOST_DEEP):
        raise InputError(too_deep, subject=name)
    return document


def toml_text(document: Mapping[str, Any]) -> str:
    """Sections and keys of a mount as TOML that reads back to the same document; comments are no part of it."""
    lines: list[str] = []
    for section, keys in document.items():
        for row in keys if isinstance(keys, list) else [keys]:
            head = f"[[{section}]]" if isinstance(keys, list) else f"[{section}]"
            lines += [head, *_key_lines(row), ""]
    return "\n".join(lines)


def _key_lines(keys: Mapping[str, Any], before: str = "") -> Iterator[str]:
    for key, value in keys.items():
        if isinstance(value, Mapping):
            yield from _key_lines(value, f"{before}{key}.")
        else:
            yield f"{before}{key} = {_toml(value)}"


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f") if isinstance(value, str) else repr(value)


def _deeper(document: object, most: int) -> bool:
    """Whether tables and lists stand in each other more than so many times; asked level by level, never recursing."""
    level: list[object] = [document]
    for _ in range(most + 1):
        inside: list[object] = []
        for each in level:
            if isinstance(each, dict):
                inside.extend(each.values())
            elif isinstance(each, list):
                inside.extend(each)
        level = inside
    return bool(level)


def _syntax_problem(message: str, text: str) -> Problem:
    lines = text.splitlines()
    place = _PLACE.search(message)
    what = _PLACE.sub("", message).rstrip(".")
    if place is None or place["line"] is None:
        return Problem(f"line {max(len(lines), 1)}, the end, is not TOML: {what}", row=max(len(lines), 1))
    line = int(place["line"])
    shown = lines[line - 1].strip() if line <= len(lines) else ""
    return Problem(f"line {line}, character {place['column']}, is not TOML: {what}: {shown[:60]}", row=line)


def with_settings(document: Mapping[str, object], settings: Iterable[str]) -> dict[str, object]:
    """The document with some keys set anew; the given one stays as it was.

    Parameters
    ----------
    document
        Sections and keys of a mount.
    settings
        Each ``section.key=value``, for a joint of the blank ``blank_joint.1.key=value``. Read as TOML; a bare
        word is text.

    Raises
    ------
    InputError
        With every setting that has no such form.

    Examples
    --------
    >>> with_settings({"lathe": {"rpm": 600}}, ["lathe.rpm=400", "support.tailstock=throughout"])
    {'lathe': {'rpm': 400}, 'support': {'tailstock': 'throughout'}}
    """
    changed: dict[str, Any] = deepcopy(dict(document))
    problems = [problem for setting in settings if (problem := _apply(changed, setting)) is not None]
    if problems:
        raise InputError(problems, subject="the settings")
    return changed


def _apply(document: dict[str, Any], setting: str) -> Problem | None:
    path, equals, text = setting.partition("=")
    keys = [key.strip() for key in path.split(".")]
    listed = keys[0] == LISTED_SECTION
    if not equals or not all(keys) or len(keys) != (3 if listed else 2):
        form = "blank_joint.1.key=value" if listed else "section.key=value"
        return Problem(f"must be {form}", column="--set", value=setting, allowed=form)
    if listed:
        return _apply_listed(document, keys, text)
    section = document.setdefault(keys[0], {})
    if not isinstance(section, dict):
        return Problem(f"[{keys[0]}] is not a section of keys", column=keys[0], value=str(section))
    section[keys[1]] = _value_of(text)
    return None


def _apply_listed(document: dict[str, Any], keys: list[str], text: str) -> Problem | None:
    joints = document.get(LISTED_SECTION, [])
    count = len(joints) if isinstance(joints, list) else 0
    if not keys[1].isdecimal() or len(keys[1]) > MOST_JOINTS_DIGITS or not 1 <= int(keys[1]) <= count:
        allowed = f"1 to {count}" if count else "none: the mount has no [[blank_joint]]"
        return Problem("is not a joint of the blank", column=f"{LISTED_SECTION}.{keys[1]}", allowed=allowed)
    joint = joints[int(keys[1]) - 1]
    if not isinstance(joint, dict):
        return Problem("is not a section of keys", column=f"{LISTED_SECTION}.{keys[1]}", value=str(joint))
    joint[keys[2]] = _value_of(text)
    return None


def _value_of(text: str) -> object:
    """The TOML value; text that is none is a bare word."""
    stripped = text.strip()
    if "\n" in stripped:
        return stripped
    try:
        value = tomllib.loads(f"value = {stripped}")["value"]
    except (ValueError, RecursionError):  # no TOML, a number of thousands of digits, or nested without end
        return stripped
    return stripped if _deeper(value, MOST_DEEP) else value
