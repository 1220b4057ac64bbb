"""Plans on the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jointlab.app.cli.receipts import show_findings
from jointlab.app.looking import DoubtLeft
from jointlab.app.plan_documents import KeptPlan
from jointlab.app.saying import doubt_left_told
from jointlab.plan.bench_sheet import BEST_SAWN, bench_sheets
from jointlab.plan.progress import PlanProgress
from jointlab.plan.values import TestPlan
from jointlab.publish.bench_sheets import asked_words, looks_words
from jointlab.publish.wording import counted


def show_plan(made: TestPlan, left: Sequence[DoubtLeft] = ()) -> None:
    """What to glue and pull, in what order, what it can show, and how not to be hurt."""
    _show_head(made, left)
    sheets = bench_sheets(made)
    for sheet in sheets:
        print(f"\n{sheet.batch}: glue on {sheet.glued_on}, test on {sheet.tested_on}, in this order")
        for line in sheet.lines:
            print(f"  {line.tested_as:2d}. {line.code}  {line.combination}  (glued as number {line.glued_as})")
    print(f"\n{BEST_SAWN}")
    print("\nCautions")
    for caution in sheets[0].cautions:
        print(f"  - {caution}")


def _show_head(made: TestPlan, left: Sequence[DoubtLeft]) -> None:
    fit = made.rig_fit
    print(
        f"{made.specimens_each} specimens of each of {counted(len(made.combinations), 'combination')} in "
        f"{counted(len(made.glue_ups), 'glue-up')}: {made.chance:.0%} chance of success if what you suppose is true."
    )
    print(f"{asked_words(made)}\n{looks_words(made)}")
    for each in left:
        print(doubt_left_told(each))
    unit = "N m" if made.method.action == "twist" else "N"
    told = f"Expect loads of {fit.load_low:.0f} to {fit.load_high:.0f} {unit}, {fit.load_expected:.0f} in the middle"
    if fit.share_low is not None and fit.share_high is not None:
        told += f": {fit.share_low:.0%} to {fit.share_high:.0%} of the range of {made.rig}"
    print(f"{told}.")
    show_findings(made.findings)


def show_plans(kept: Iterable[KeptPlan]) -> None:
    """A line for each plan."""
    listed = list(kept)
    for one in listed:
        plan, progress = one.plan, one.progress
        names = "; ".join(map(str, plan.combinations))
        print(f"{plan.name}: {progress.done} of {len(plan.specimens)} pulled, kept on {one.kept_on}. {names}")
    if not listed:
        print("No plan is kept in this book.")


def show_kept(kept: KeptPlan, left: Sequence[DoubtLeft] = ()) -> None:
    """A plan, then what its pulls leave to do and what was done otherwise."""
    plan, progress = kept.plan, kept.progress
    print(f"Plan {plan.name}, revision {kept.revision}, kept on {kept.kept_on}.")
    _show_head(plan, left)
    print(f"\n{progress.done} of {len(plan.specimens)} pulled, {progress.complete_glue_ups} of "
          f"{counted(len(plan.glue_ups), 'glue-up')} complete, {progress.looks_due} of "
          f"{counted(plan.planned_looks, 'look')} due.")  # fmt: skip
    _show_left(plan, progress)
    if progress.deviations:
        print("\nOtherwise than planned")
        for deviation in progress.deviations:
            print(f"  {deviation.batch}/{deviation.specimen} {deviation.text}")


def _show_left(plan: TestPlan, progress: PlanProgress) -> None:
    left = {specimen.code for specimen in progress.left}
    for glue_up in plan.glue_ups:
        own = [specimen for specimen in glue_up.in_test_order() if specimen.code in left]
        if own:
            print(f"\nLeft of {glue_up.batch}, to be tested on {glue_up.tested_on} in this order")
            for specimen in own:
                print(f"  {specimen.tested_as:2d}. {specimen.code}  {specimen.combination}")
