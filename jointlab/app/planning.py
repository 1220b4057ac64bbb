"""Plan tests before the first pull: from words on the command line to a plan and its table to fill."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from jointlab.app import workflow
from jointlab.errors import InputError, Problem
from jointlab.plan.bench_sheet import table_to_fill
from jointlab.plan.plan_tests import Terms, plan_tests
from jointlab.plan.values import SeeDifference, ShowStrength, TestPlan, Wish
from jointlab.record.joint import Combination
from jointlab.record.names import tidied

WORDED = re.compile(r"(?P<glue>.+?) on (?P<substrate>.+?)(?: \((?P<preparation>[^()]+)\))?")
FORM = '"GLUE on SUBSTRATE" or "GLUE on SUBSTRATE (PREPARATION)"'


def plan_for(
    combinations: Sequence[str], *, wish: Wish, terms: Terms, seed: int, control: str | None = None
) -> TestPlan:
    """Specimens and glue-ups for what is wished, the orders drawn by lot from a seed.

    Raises
    ------
    InputError
        With every problem of the wish at once.
    """
    named = combinations_of(combinations)
    against = None if control is None else combinations_of([control])[0]
    return plan_tests(named, wish=wish, terms=terms, control=against, rng=np.random.default_rng(seed))


def combinations_of(words: Sequence[str]) -> tuple[Combination, ...]:
    """The combinations these words name.

    Raises
    ------
    InputError
        With a problem for each that does not read as glue on substrate.
    """
    found = [(word, WORDED.fullmatch(tidied(word))) for word in words]
    problems = [
        Problem(f"must be written {FORM}", column="--combination", value=word, allowed=FORM)
        for word, match in found
        if match is None
    ]
    if problems:
        raise InputError(problems, subject="the plan")
    return tuple(
        Combination(match["glue"], match["substrate"], match["preparation"] or "") for _, match in found if match
    )


def wish_of(*, hold_mpa: float | None, difference_pct: float | None, expected_mpa: float, spread_pct: float) -> Wish:
    """The wish: a strength to show, or a difference to see.

    Raises
    ------
    InputError
        Neither or both are given.
    """
    if (hold_mpa is None) == (difference_pct is None):
        problem = Problem("wish for one thing: --hold_mpa to show a strength, or --difference_pct to see a difference")
        raise InputError(problem, subject="the plan")
    spread = spread_pct / 100.0
    if hold_mpa is not None:
        return ShowStrength(required_mpa=hold_mpa, expected_mpa=expected_mpa, log_sd=spread)
    assert difference_pct is not None
    return SeeDifference(ratio=1.0 + difference_pct / 100.0, expected_mpa=expected_mpa, log_sd=spread)


def write_table(plan: TestPlan, path: Path) -> Path:
    """Write the table to fill, which imports as it is once filled."""
    workflow.write_text(path, table_to_fill(plan))
    return path
