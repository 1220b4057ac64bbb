"""Bench sheets on paper: a glue-up a sheet with its two orders, a square code a specimen, cautions, and labels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from jointlab.plan.bench_sheet import BEST_SAWN, BenchSheet, bench_sheets
from jointlab.plan.values import PlannedSpecimen, SeeDifference, TestPlan
from jointlab.publish.card import square_code
from jointlab.publish.typesetting import Paper, typeset
from jointlab.publish.wording import outline_words, rounded
from jointlab.record.vocabulary import Action, BrokeAt, Outcome

_HOURS_A_DAY = 24.0

_WRITE_DOWN = {
    "load": ("load", "torque"),
    "outcome": ("outcome", "outcome"),
    "held": ("held", "held"),
    "broke_at": ("broke at", "broke at"),
    "wood_pct": ("wood %", "wood %"),
    "cohesive_pct": ("in glue %", "in glue %"),
    "adhesive_pct": ("off face %", "off face %"),
    "notes": ("notes", "notes"),
}
"""Heads of the columns to fill, of a force and of a torque."""

_OUTCOMES = {
    Outcome.BROKE: "at the load written down",
    Outcome.HELD: "up to the load; did not break",
    Outcome.STEP: "between the load held and the load",
    Outcome.HANDLED: "in the hand, below the load",
}


@dataclass(frozen=True, slots=True)
class SheetNote:
    """ISO date the sheets carry, and the version of jointlab that made them."""

    dated_on: str
    program_version: str


def bench_sheets_pdf(plan: TestPlan, note: SheetNote, *, paper: Paper = Paper.A4) -> bytes:
    """Every glue-up of a plan as a tagged PDF for the bench; the same plan gives the same bytes.

    The square code of a specimen holds its batch and name as plain text and nothing else.
    """
    sheets = bench_sheets(plan)
    twist = plan.method.action is Action.TWIST
    drawings = {f"{_file_of(one)}": square_code(one.code) for one in plan.specimens}
    values = {
        "paper": str(paper),
        "title": f"Bench sheets: {plan.name}",
        "asked": asked_words(plan),
        "chance": f"Chance of success {plan.chance:.0%} with {plan.specimens_each} specimens of each combination, if "
        "what is supposed is true.",
        "method": _method_rows(plan),
        "looks": looks_words(plan),
        "best": BEST_SAWN,
        "findings": [finding.text for finding in plan.findings],
        "heads": [_WRITE_DOWN[column][int(twist)] for column in sheets[0].to_fill],
        "unit": "N m" if twist else "",
        "outcomes": [[str(word), told] for word, told in _OUTCOMES.items()],
        "places": ", ".join(str(place) for place in BrokeAt),
        "sheets": [_sheet(sheet) for sheet in sheets],
        "cautions": list(sheets[0].cautions),
        "program": f"jointlab {note.program_version}, {note.dated_on}",
    }
    return typeset("bench.typ", values=values, drawings=drawings, dated_on=note.dated_on)


def _sheet(sheet: BenchSheet) -> dict[str, Any]:
    glued = sorted(sheet.lines, key=lambda line: line.glued_as)
    return {
        "batch": sheet.batch,
        "glued": sheet.glued_on,
        "tested": sheet.tested_on,
        "gluing": [[line.specimen, str(line.combination)] for line in glued],
        "testing": [
            {"turn": str(line.tested_as), "code": line.code, "name": str(line.combination), "file": _file_of(line)}
            for line in sheet.lines
        ],
    }


def _file_of(specimen: PlannedSpecimen) -> str:
    return f"{specimen.code}.svg"


def asked_words(plan: TestPlan) -> str:
    """What a plan is to show, as a sentence."""
    wish = plan.wish
    supposed = f"supposing a median of {rounded(wish.expected_mpa)} MPa and a spread of {wish.log_sd:.0%}"
    if isinstance(wish, SeeDifference):
        against = "every pair" if plan.control is None else f"each against {plan.control}"
        return f"To see a difference of {wish.ratio - 1.0:.0%} between combinations ({against}), {supposed}."
    return (
        f"To show that {wish.coverage:.0%} of joints hold {rounded(wish.required_mpa)} MPa, with "
        f"{wish.confidence:.0%} confidence, {supposed}."
    )


def looks_words(plan: TestPlan) -> str:
    """When the evidence is looked at, and what each look spends of the doubt."""
    if plan.planned_looks == 1:
        return (
            f"One look, after the last glue-up, with {plan.confidence_at_look:.3g} confidence: it spends all of the "
            "doubt, and no mount passes on pulls added after it. Plan two looks if you may want to go on."
        )
    share = 1.0 - plan.confidence_at_look
    return (
        f"{plan.planned_looks} looks are planned, each after a whole glue-up; each spends {share:.2%} of the doubt "
        f"({1.0 - plan.wish.confidence:.0%} in all) and is taken at {plan.confidence_at_look:.2%} confidence."
    )


def _method_rows(plan: TestPlan) -> list[list[str]]:
    method, fit = plan.method, plan.rig_fit
    unit = "N m" if method.action is Action.TWIST else "N"
    arm = [] if method.arm_mm is None else [["arm, glue line to line of pull", f"{rounded(method.arm_mm)} mm"]]
    between = f"{rounded(fit.load_low)} to {rounded(fit.load_high)} {unit}, {rounded(fit.load_expected)} in the middle"
    ranged = []
    if fit.share_low is not None and fit.share_high is not None:
        ranged = [["of the rig's range", f"{fit.share_low:.0%} to {fit.share_high:.0%}; best is 20 to 80 %"]]
    return [
        ["specimen", outline_words(method.outline)],
        ["loaded by", str(method.action)],
        *arm,
        ["rig", plan.rig or "not stated"],
        ["loads to expect", between],
        *ranged,
        ["cure", f"{rounded(plan.cure_h)} h ({rounded(plan.cure_h / _HOURS_A_DAY)} days)"],
    ]
