import json

import numpy as np
import pytest

from jointlab.app.plan_documents import KeptPlan, plan_document, plan_of, plans_document
from jointlab.errors import BookError
from jointlab.plan import Method, SeeDifference, ShowStrength, Terms, plan_tests, progress_of
from jointlab.record.joint import Combination, Disc, Rectangle, Ring
from jointlab.record.rig import Rig, RigKind
from jointlab.record.vocabulary import Action

MAPLE, PLY = Combination("pva", "maple"), Combination("epoxy", "plywood", "sanded")
SEE = SeeDifference(1.6, expected_mpa=4.0, log_sd=0.2)
SHOW = ShowStrength(0.8, expected_mpa=4.0, log_sd=0.2, coverage=0.9)
SCALE = Rig("luggage scale", RigKind.SCALE_IN_LINE, capacity=490.0)


def made(wish, outline, action, *, control=None, rig=None, arm_mm=None):
    return plan_tests(
        [MAPLE, PLY],
        wish=wish,
        terms=Terms("Spring", "2026-03-02", planned_looks=2, each=3),
        method=Method(action, outline, arm_mm),
        control=control,
        rig=rig,
        rng=np.random.default_rng(4),
    )


@pytest.mark.parametrize(
    "plan",
    [
        made(SEE, Disc(50.0), Action.PRY, control=PLY, rig=SCALE, arm_mm=250.0),
        made(SHOW, Ring(60.0, 30.0), Action.TWIST),
        made(SHOW, Rectangle(40.0, 30.0), Action.SHEAR, rig=SCALE),
    ],
)
def test_a_plan_comes_back_from_its_document_as_it_was(plan) -> None:
    kept = json.loads(json.dumps(plan_document(plan).model_dump(mode="json"), allow_nan=False))
    assert plan_of(kept) == plan


def test_the_document_names_what_a_look_needs() -> None:
    kept = plan_document(made(SEE, Disc(50.0), Action.PULL)).model_dump(mode="json")
    assert kept["schema"] == 1
    assert kept["combinations"] == [
        {"glue": "pva", "substrate": "maple", "preparation": "", "action": "pull"},
        {"glue": "epoxy", "substrate": "plywood", "preparation": "sanded", "action": "pull"},
    ]
    assert kept["looks"] == 2
    assert kept["look_shares"] == pytest.approx([0.025, 0.025])
    assert kept["confidence_at_look"] == pytest.approx(0.975)
    assert kept["progress"] is None


def test_progress_names_specimens_by_the_place_of_their_combination() -> None:
    plan = made(SEE, Disc(50.0), Action.PULL)
    part = plan_document(plan, progress_of(plan, [])).progress
    assert part is not None
    assert (part.done, part.looks_due, len(part.left)) == (0, 0, 12)
    first = part.left[0]
    assert plan.combinations[first.combination] == plan.specimens[0].combination
    listed = plans_document([KeptPlan(plan, 1, "2026-03-01", progress_of(plan, []))]).plans
    assert [(one.name, one.specimens, one.done, one.looks) for one in listed] == [("Spring", 12, 0, 2)]


def test_a_document_that_is_no_plan_is_refused_by_name() -> None:
    with pytest.raises(BookError, match="cannot be read"):
        plan_of({"schema": 7, "name": "Spring"})
