"""Flags that are columns, and filters."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from jointlab.app.saying import LEAST_SHARE, MOST_SHARE
from jointlab.book.stored import PullSelection
from jointlab.errors import InputError, Problem
from jointlab.record.columns import accepted_columns, physical_columns
from jointlab.record.joint import Disc
from jointlab.record.reading import READINGS
from jointlab.record.row import limits_of, words_of
from jointlab.record.vocabulary import Action, GlueFamily
from jointlab.units import UNITS, Quantity

if TYPE_CHECKING:
    from pathlib import Path

    from jointlab.app.offsets import Measured
    from jointlab.mount.fit_up import Stage
    from jointlab.publish.typesetting import Paper
    from jointlab.record.csv_file import Decimal
    from jointlab.verdict.target import Coupon


Word = TypeVar("Word", bound=StrEnum)


def cells_of(words: Sequence[str]) -> dict[str, str]:
    """Column -> text from ``--column value`` and ``--column=value``; a hyphen in a name counts as an underscore.

    Raises
    ------
    InputError
        With a problem for each word that is no flag, has no value, or stands twice.
    """
    cells: dict[str, str] = {}
    problems: list[Problem] = []
    waiting = list(words)
    while waiting:
        word = waiting.pop(0)
        if not word.startswith("--"):
            problems.append(Problem("stands alone: write it behind its flag, such as --load_kgf 12.5", value=word))
            continue
        name, given, value = word[2:].partition("=")
        column = name.replace("-", "_")
        if not given:
            if not waiting or waiting[0].startswith("--"):
                problems.append(Problem("needs a value", column=column))
                continue
            value = waiting.pop(0)
        if column in cells:
            problems.append(Problem("is given twice", column=column, value=value))
        cells[column] = value
    if problems:
        raise InputError(problems, subject="the command")
    return cells


def show_columns() -> None:
    """List every column of a pull with what may stand in it."""
    physical = physical_columns()
    titles: dict[str, list[str]] = {}
    for title, column in accepted_columns().items():
        titles.setdefault(column.stored, []).append(title)
    for stored, names in titles.items():
        if stored in READINGS.values():
            print(
                f"--{' --'.join(names)}\n      what the instrument showed, with --rig: the rig turns it into the load"
            )
            continue
        words = words_of(stored)
        limits = " ".join(f"{word} {limit:g}" for word, limit in limits_of(stored).items())
        allowed = (
            " | ".join(words) if words else f"{limits} {stored.rsplit('_', 1)[-1]}" if stored in physical else "text"
        )
        print(f"--{' --'.join(names)}\n      {allowed}")


def selection_of(glue: str | None, substrate: str | None, preparation: str | None, action: str | None) -> PullSelection:
    """The pulls these filters ask for.

    Raises
    ------
    InputError
        There is no such action.
    """
    chosen = None if action is None else Action(_word_among("--action", action, [*map(str, Action)]))
    return PullSelection(glue=glue, substrate=substrate, preparation=preparation, action=chosen)


def action_of(word: str) -> Action:
    """The action of this word.

    Raises
    ------
    InputError
        There is none.
    """
    return Action(_word_among("--action", word, [*map(str, Action)]))


def needed(given: Mapping[str, object]) -> None:
    """Flags without which a command can do nothing.

    Raises
    ------
    InputError
        With a problem for each that has no value.
    """
    problems = [Problem("is needed", column=flag) for flag, value in given.items() if value is None or value == []]
    if problems:
        raise InputError(problems, subject="the command")


def none_of(flag: str, given: Mapping[str, object]) -> None:
    """Flags that another one settles.

    Raises
    ------
    InputError
        With a problem for each that is given beside it.
    """
    problems = [
        Problem(f"is settled by {flag}: leave it out", column=other)
        for other, value in given.items()
        if value is not None
    ]
    if problems:
        raise InputError(problems, subject="the command")


def _word_among(flag: str, word: str, words: Sequence[str]) -> str:
    if word not in words:
        allowed = ", ".join(words)
        problem = Problem(f"must be one of: {allowed}", column=flag, value=word, allowed=allowed)
        raise InputError(problem, subject="the command")
    return word


def word_or_none(flag: str, word: str | None, words: type[Word]) -> Word | None:
    """The member of a vocabulary this word names; None where none is given.

    Raises
    ------
    InputError
        There is none of that name.
    """
    return None if word is None else words(_word_among(flag, word, [*map(str, words)]))


def glue_family_of(word: str | None) -> GlueFamily | None:
    """The family of glue of this word.

    Raises
    ------
    InputError
        There is none.
    """
    return None if word is None else GlueFamily(_word_among("--glue_family", word, [*map(str, GlueFamily)]))


def stage_of(word: str | None, after: Path | None) -> Stage:
    """The stage of this word; mounting where none is given.

    Raises
    ------
    InputError
        There is no such stage, or nothing was read after it.
    """
    from jointlab.mount.fit_up import Stage

    if word is None:
        return Stage.MOUNTING
    stage = Stage(_word_among("--stage", word, [*map(str, Stage)]))
    if after is None:
        told = "says what happened before the second reading: give that with --after"
        raise InputError(Problem(told, column="--stage", value=word), subject="the command")
    return stage


def measured_of(
    thickness: Path | None,
    density_pct: float | None,
    missing: tuple[float, float] | None,
    added: tuple[float, float] | None,
) -> Measured:
    """What was measured of a blank's balance.

    Raises
    ------
    InputError
        A number is not above nothing, or a difference of density is a hundred percent or more.
    """
    from jointlab.app.offsets import Measured

    problems = []
    if density_pct is not None and not 0.0 < density_pct < 100.0:
        allowed = "greater than 0 and less than 100 %"
        problems.append(
            Problem(f"must be {allowed}", column="--density_pct", value=f"{density_pct:g}", allowed=allowed)
        )
    for flag, pair in (("--missing", missing), ("--added", added)):
        if pair is not None and not all(0.0 < number < math.inf for number in pair):
            given = " ".join(f"{number:g}" for number in pair)
            told = "must be kilograms and millimetres, both greater than 0"
            problems.append(Problem(told, column=flag, value=given, allowed="KG MM"))
    if problems:
        raise InputError(problems, subject="the command")
    return Measured(thickness, density_pct, missing, added)


def length_of(flag: str, value: float | None) -> float | None:
    """A length [mm], more than nothing.

    Raises
    ------
    InputError
        It is not.
    """
    if value is not None and not 0.0 < value < math.inf:
        problem = Problem("must be greater than 0 mm", column=flag, value=f"{value:g}", allowed="greater than 0 mm")
        raise InputError(problem, subject="the command")
    return value


def coupon_of(
    diameter_mm: float, action: str, arm_mm: float, count: int, batches: int, cap_kgf: float | None
) -> Coupon:
    """The coupon these flags describe; the room that uses it checks how they fit together.

    Raises
    ------
    InputError
        With every problem: a size that is not greater than nothing, no such action.
    """
    from jointlab.verdict.target import Coupon

    problems = [
        Problem(f"must be greater than 0 {unit}", column=flag, value=f"{value:g}", allowed=f"greater than 0 {unit}")
        for flag, value, unit in (
            ("--diameter_mm", diameter_mm, "mm"), ("--arm_mm", arm_mm, "mm"), ("--cap_kgf", cap_kgf, "kgf")
        )
        if value is not None and not 0.0 < value < math.inf
    ]  # fmt: skip
    if action not in ("pry", "pull"):
        problems.append(Problem("must be one of: pry, pull", column="--action", value=action, allowed="pry, pull"))
    if problems:
        raise InputError(problems, subject="the command")
    chosen = Action(action)
    cap_n = None if cap_kgf is None else UNITS[(Quantity.FORCE, "kgf")].to_stored(cap_kgf)
    return Coupon(
        outline=Disc(diameter_mm),
        action=chosen,
        arm_mm=arm_mm if chosen is Action.PRY else None,
        n=count,
        batches=batches,
        cap_n=cap_n,
    )


def share_of(flag: str, value: float) -> float:
    """A share between 0 and 1, and so far from both that a bound can be worked out.

    Raises
    ------
    InputError
        It is not.
    """
    if not LEAST_SHARE <= value <= MOST_SHARE:
        allowed = f"from {LEAST_SHARE:g} to {MOST_SHARE:g}, such as 0.95"
        raise InputError(
            Problem(f"must be {allowed}", column=flag, value=f"{value:g}", allowed=allowed), subject="the command"
        )
    return value


def paper_of(word: str) -> Paper:
    """The sheet this word names.

    Raises
    ------
    InputError
        It is another word.
    """
    from jointlab.publish.typesetting import Paper

    known = {"a4": Paper.A4, "letter": Paper.LETTER, "us-letter": Paper.LETTER}
    if word.lower() not in known:
        allowed = f"one of {', '.join(known)}"
        raise InputError(
            Problem(f"must be {allowed}", column="--paper", value=word, allowed=allowed), subject="the command"
        )
    return known[word.lower()]


def decimal_of(word: str) -> Decimal:
    """How a file writes its numbers.

    Raises
    ------
    InputError
        It is another word.
    """
    from jointlab.record.csv_file import Decimal

    if word not in set(Decimal):
        allowed = f"one of {', '.join(Decimal)}"
        raise InputError(
            Problem(f"must be {allowed}", column="--decimal", value=word, allowed=allowed), subject="the command"
        )
    return Decimal(word)
