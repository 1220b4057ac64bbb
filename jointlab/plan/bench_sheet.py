"""What goes to the bench: a sheet a glue-up with every specimen's place, and a table ready to fill and import."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from jointlab.plan.values import GlueUp, PlannedSpecimen, TestPlan
from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.record.vocabulary import Action

SOURCE = "trade"

CAUTIONS = (
    "A strap or bar under load lets go at once: stand beside its line, never in it.",
    "Eye protection and a shield between you and the joint; no loose sleeves.",
    "Catch the part: a box under it or a tether on it. Keep fingers out of the gap.",
    "Hydraulic jack: stay within its rating, add no length to the handle, watch for leaking fluid.",
    "Lever: block the fall of the arm. Weights: hang them at most 50 mm above a soft landing.",
    "A lathe used as a clamp is switched off and unplugged. Never test on a running lathe.",
)
"""Cautions of destructive tests, in our own words (source key ``trade``)."""

BEST_SAWN = (
    "Best: glue one full-size sacrificial disc of each combination as a real block is glued, and saw the specimens of "
    "a glue-up from it; spread, pressure and edges are then those of a mount."
)
"""Where specimens come from (source key ``trade``)."""

TO_FILL = ("load", "outcome", "held", "broke_at", "wood_pct", "cohesive_pct", "adhesive_pct", "notes")
"""What is written down at the bench, in this order."""


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """One glue-up on paper: dates, specimens in the order of testing, what to fill in, cautions."""

    plan: str
    batch: str
    glued_on: str
    tested_on: str
    lines: tuple[PlannedSpecimen, ...]
    to_fill: tuple[str, ...]
    cautions: tuple[str, ...]


def bench_sheets(plan: TestPlan) -> tuple[BenchSheet, ...]:
    """A sheet for every glue-up."""
    return tuple(
        BenchSheet(
            plan=plan.name,
            batch=glue_up.batch,
            glued_on=glue_up.glued_on,
            tested_on=glue_up.tested_on,
            lines=glue_up.in_test_order(),
            to_fill=TO_FILL,
            cautions=CAUTIONS,
        )
        for glue_up in plan.glue_ups
    )


def table_to_fill(plan: TestPlan) -> str:
    """CSV with a row a specimen in the order of testing; filled in, it is imported as it is.

    The columns are those of a pull. Load (or torque), outcome and what was seen of the break are empty; for a load in
    another unit its column is renamed.
    """
    twist = plan.method.action is Action.TWIST
    sizes = _sizes(plan)
    fixed = {"action": str(plan.method.action), **sizes}
    if plan.method.arm_mm is not None:
        fixed["arm_mm"] = f"{plan.method.arm_mm:g}"
    to_fill = ("torque_nm" if twist else "load_n", "outcome", "held_nm" if twist else "held_n", *TO_FILL[3:])
    rig = {} if plan.rig is None else {"rig": plan.rig}
    columns = ["batch", "specimen", "tested_on", "glued_on", "glue", "substrate", "preparation", *fixed, *rig, *to_fill]
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, columns, restval="", lineterminator="\r\n")
    writer.writeheader()
    for glue_up in plan.glue_ups:
        for specimen in glue_up.in_test_order():
            writer.writerow({**_row(glue_up, specimen), **fixed, **rig})
    return out.getvalue()


def _row(glue_up: GlueUp, specimen: PlannedSpecimen) -> dict[str, str]:
    combination = specimen.combination
    return {
        "batch": specimen.batch,
        "specimen": specimen.specimen,
        "tested_on": glue_up.tested_on,
        "glued_on": glue_up.glued_on,
        "glue": combination.glue,
        "substrate": combination.substrate,
        "preparation": combination.preparation,
    }


def _sizes(plan: TestPlan) -> dict[str, str]:
    outline = plan.method.outline
    shape = {"shape": str(outline.shape)}
    match outline:
        case Disc(diameter_mm):
            return {**shape, "diameter_mm": f"{diameter_mm:g}"}
        case Ring(diameter_mm, hole_mm):
            return {**shape, "diameter_mm": f"{diameter_mm:g}", "hole_mm": f"{hole_mm:g}"}
        case Rectangle(width_mm, depth_mm):
            return {**shape, "width_mm": f"{width_mm:g}", "depth_mm": f"{depth_mm:g}"}
