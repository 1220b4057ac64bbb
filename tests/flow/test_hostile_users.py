"""Ways to force a pass: each is answered by a finding that blocks, a question that stays, or a label that shows."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from jointlab.app import rigging, workflow
from jointlab.app.looking import keep_look, look_at
from jointlab.app.other_shops import import_of_shop
from jointlab.book.stored import PaperKind, PullSelection
from jointlab.errors import InputError
from jointlab.record.finding import FindingCode
from jointlab.verdict.sentence import outcome_told
from jointlab.verdict.values import Outcome

DEMO = Path(__file__).parents[2] / "datasets" / "demo"
BOWL = DEMO / "mounts" / "bowl_on_maple.toml"
MAPLE = {"glue": "yellow wood glue", "substrate": "hard maple scrap"}
SMALL = "joint.diameter_mm=96"


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("hostile") / "shop.db"
    head, *rows = (DEMO / "pulls.csv").read_text(encoding="utf-8").splitlines()
    pries = [row for row in rows if ",hard maple scrap," in row and ",yellow wood glue," in row and ",pry," in row]
    file = place.with_suffix(".csv")
    file.write_text("\n".join([head, *pries]) + "\n", encoding="utf-8")
    workflow.import_file(place, file)
    return place


@pytest.fixture
def place(filled: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(filled, tmp_path / "shop.db"))


def asked(place: Path, *settings: str) -> workflow.Decision:
    return workflow.decide_mount(place, BOWL, settings)


def blocking(decision: workflow.Decision) -> set[FindingCode]:
    return {finding.code for finding in decision.verdict.findings if finding.blocks}


def told(decision: workflow.Decision) -> set[FindingCode]:
    return {finding.code for finding in decision.verdict.findings}


def strong_pulls(place: Path, *batches: str, glued_on: str | None = None, tested_on: str = "2026-03-01") -> None:
    cells = {**MAPLE, "tested_on": tested_on, "action": "pry", "shape": "disc", "diameter_mm": "50"}
    cells |= {"arm_mm": "300", "outcome": "broke", "substrate_kind": "solid_face"}
    cells |= {} if glued_on is None else {"glued_on": glued_on}
    for batch in batches:
        for number, load in enumerate(("16.4", "17.1", "17.9"), start=1):
            workflow.record_pull(place, {**cells, "batch": batch, "specimen": str(number), "load_kgf": load})


@pytest.mark.parametrize(
    ("knobs", "label"),
    [
        (["criteria.margin=1.01"], "margin 1.01 under 1.5"),
        (["criteria.catch=light"], "light catch in place of severe"),
        (["criteria.confidence=0.75"], "confidence 0.75 under 0.95"),
    ],
)
def test_1_turning_a_criterion_down_is_written_on_the_pass(knobs, label, place):
    assert asked(place, SMALL).verdict.verdict is not Outcome.PASS
    passed = asked(place, SMALL, *knobs)
    assert f"(criteria relaxed: {label})" in outcome_told(passed.verdict)
    assert passed.verdict.relaxed


def test_2_a_margin_below_one_is_refused(place):
    with pytest.raises(InputError):
        asked(place, "criteria.margin=0.9")


def test_3_turning_a_factor_or_the_catch_itself_is_written_on_the_pass(place):
    passed = asked(place, SMALL, "factors.firm_n=500", "factors.severe_n=500", "factors.size_tension=1.0")
    assert passed.verdict.verdict is Outcome.PASS
    label = outcome_told(passed.verdict)
    assert all(by_hand in label for by_hand in ("set by hand: ", "size_tension 1", "severe_n 500"))
    assert FindingCode.FACTOR_CHANGED in told(passed)


def test_4_asking_again_after_every_pull_makes_each_answer_sterner(place):
    spent = [asked(place).verdict.confidence_spent]
    for number in range(4):
        strong_pulls(place, f"Z{number}")
        spent.append(asked(place).verdict.confidence_spent)
    assert spent == pytest.approx([0.05 / 2**look for look in range(1, 6)])


def test_5_dropping_the_weakest_pull_is_told_and_is_another_look(place):
    before = asked(place)
    pulls = workflow.list_pulls(place, PullSelection(**MAPLE))
    weakest = min((read for read in pulls if read.stored.pull.action == "pry"), key=lambda read: read.stress.lower_mpa)
    workflow.exclude_pull(place, weakest.stored.id, cause="it looked odd")
    after = asked(place)
    assert after.verdict.confidence_spent == before.verdict.confidence_spent / 2.0
    (finding,) = [found for found in after.verdict.findings if found.code is FindingCode.PULLS_EXCLUDED]
    assert "it looked odd" in finding.text


def test_6_giving_one_glue_up_two_names_afterwards_is_no_pass(tmp_path):
    place = tmp_path / "one.db"
    strong_pulls(place, "A")
    workflow.record_pull(
        place,
        {**MAPLE, "batch": "A", "specimen": "4", "tested_on": "2026-03-01", "action": "pry", "shape": "disc",
         "diameter_mm": "50", "arm_mm": "300", "outcome": "broke", "load_kgf": "17", "substrate_kind": "solid_face"},
    )  # fmt: skip
    for each in (1, 2):
        workflow.correct_pull(place, each, {"batch": "B"}, reason="misread")
    assert FindingCode.GLUE_UPS_RENAMED in blocking(asked(place))


def test_7_giving_one_glue_up_two_names_from_the_start_is_questioned(tmp_path):
    place = tmp_path / "one.db"
    strong_pulls(place, "A", "B", glued_on="2026-02-20T10:00")
    assert FindingCode.BATCHES_ALIKE in told(asked(place))


def test_8_the_tests_of_one_sheet_do_not_speak_for_another(place):
    assert FindingCode.KIND_DIFFERS in blocking(asked(place, "block.kind=mdf"))
    assert FindingCode.KIND_DIFFERS in blocking(asked(place, "block.kind=plywood"))
    nothing = asked(place, "joint.substrate=the other sheet")
    assert (nothing.verdict.verdict, FindingCode.NO_PULLS in blocking(nothing)) == (Outcome.UNDECIDED, True)


def test_9_moving_the_pulls_to_a_new_name_does_not_start_the_looks_afresh(place):
    asked(place)
    for read in workflow.list_pulls(place, PullSelection(**MAPLE)):
        workflow.correct_pull(place, read.stored.id, {"substrate": "new scrap"}, reason="a new name")
    assert asked(place, "joint.substrate=new scrap").verdict.confidence_spent == pytest.approx(0.0125)


def test_10_looks_beyond_the_plan_or_written_into_it_later_are_never_a_pass(place):
    plan = {"schema": 1, "combinations": [{**MAPLE, "preparation": "", "action": "pry"}], "glue_ups": []}
    with workflow.open_book(place) as book:
        book.keep_paper(PaperKind.PLAN, {**plan, "looks": 1}, key="one look")
    assert asked(place).verdict.verdict is Outcome.PASS
    strong_pulls(place, "Z1")
    assert FindingCode.LOOKS_SPENT in blocking(asked(place))
    with workflow.open_book(place) as book:
        book.keep_paper(PaperKind.PLAN, {**plan, "looks": 9}, key="one look", reason="more, please")
    strong_pulls(place, "Z2")
    assert FindingCode.LOOKS_SPENT in blocking(asked(place))


def test_11_other_shops_evidence_alone_is_never_a_pass_nor_under_names_of_ones_own(place, tmp_path):
    theirs, book = tmp_path / "theirs.csv", tmp_path / "another.db"
    workflow.export_file(place, theirs)
    import_of_shop(book, theirs, "North")
    assert FindingCode.OTHERS_ALONE in blocking(asked(book))
    head, *rows = theirs.read_text(encoding="utf-8").splitlines()
    assert head.startswith("batch,")
    theirs.write_text("\n".join([head, *(f"my {row}" for row in rows)]) + "\n", encoding="utf-8")
    workflow.import_file(book, theirs)
    assert FindingCode.OTHERS_ALONE in blocking(asked(book))
    assert FindingCode.BATCHES_COPIED in told(asked(book))


def test_12_a_look_is_taken_down_once_and_a_sterner_mount_asked_first_does_not_hide_it(place):
    asked(place, "joint.diameter_mm=60")
    strong_pulls(place, "Z1")
    again = asked(place)
    assert again.verdict.confidence_spent == pytest.approx(0.0125)
    with workflow.open_book(place) as book:
        setup = again.setup.joint.combination
        seen = look_at(book, setup, book.pulls(PullSelection(**MAPLE)))
        keep_look(book, seen, again.verdict, mount="again")
        assert [paper.document["verdict"] for paper in book.papers(PaperKind.LOOK)] == ["fail", "pass"]


def test_13_plan_after_plan_share_one_doubt_and_leave_nothing_after_a_plan_of_one_look(place):
    plan = {"schema": 1, "combinations": [{**MAPLE, "preparation": "", "action": "pry"}], "glue_ups": [], "looks": 1}
    for number in range(3):
        with workflow.open_book(place) as book:
            book.keep_paper(PaperKind.PLAN, plan, key=f"plan {number}")
        decision = asked(place, SMALL)
        strong_pulls(place, f"Z{number}")
    assert FindingCode.LOOKS_SPENT in blocking(decision)
    assert decision.verdict.verdict is not Outcome.PASS


def test_14_a_plan_given_up_half_way_leaves_what_it_did_not_spend(place):
    plan = {"schema": 1, "combinations": [{**MAPLE, "preparation": "", "action": "pry"}], "glue_ups": [], "looks": 2}
    spent = []
    for number in range(4):
        with workflow.open_book(place) as book:
            book.keep_paper(PaperKind.PLAN, plan, key=f"plan {number}")
        spent.append(asked(place).verdict.confidence_spent)
        strong_pulls(place, f"Z{number}")
    assert spent == pytest.approx([0.025, 0.0125, 0.00625, 0.003125])


def test_15_a_rig_made_stronger_afterwards_changes_no_pull_that_was_taken_with_it(tmp_path):
    place = tmp_path / "rig.db"
    rigging.keep_rig(place, "bar", {"kind": "bar_and_scale", "arm_mm": "300"}, today="2026-03-01")
    cells = {**MAPLE, "tested_on": "2026-03-01", "action": "pry", "shape": "disc", "diameter_mm": "50", "rig": "bar"}
    cells |= {"outcome": "broke", "substrate_kind": "solid_face"}
    for number in range(6):
        own = {"batch": f"A{number % 2}", "specimen": str(number), "reading_kgf": f"{15 + number / 10:.1f}"}
        workflow.record_pull(place, {**cells, **own})
    before = asked(place)
    rigging.keep_rig(place, "bar", {"ratio": "3"}, today="2026-03-02", reason="it is a lever after all")
    after = asked(place)
    assert after.verdict.margin_lower == before.verdict.margin_lower
    assert after.verdict.confidence_spent == before.verdict.confidence_spent


def test_16_pulls_dated_before_the_look_that_failed_are_new_evidence_all_the_same(place):
    before = asked(place, SMALL)
    assert before.verdict.verdict is not Outcome.PASS
    strong_pulls(place, "Z1", tested_on="2019-01-01")
    assert asked(place, SMALL).verdict.confidence_spent == before.verdict.confidence_spent / 2.0


def test_17_a_glue_up_renamed_after_a_failed_look_is_told_and_is_another_look(place):
    before = asked(place, SMALL)
    pulls = [read.stored for read in workflow.list_pulls(place, PullSelection(**MAPLE))]
    for stored in pulls[:3]:
        workflow.correct_pull(place, stored.id, {"batch": "Y9"}, reason="misread")
    after = asked(place, SMALL)
    assert after.verdict.confidence_spent == before.verdict.confidence_spent / 2.0
    assert FindingCode.GLUE_UPS_RENAMED in told(after)


def test_18_a_factor_set_and_unset_again_leaves_no_pass_and_the_look_keeps_its_label(place):
    by_hand = asked(place, SMALL, "factors.size_tension=1.0", "factors.firm_n=500", "factors.severe_n=500")
    assert by_hand.verdict.verdict is Outcome.PASS
    unset = asked(place, SMALL)
    assert unset.verdict.verdict is not Outcome.PASS
    assert unset.verdict.confidence_spent == by_hand.verdict.confidence_spent
    with workflow.open_book(place) as book:
        (look,) = book.papers(PaperKind.LOOK)
    assert "set by hand: " in look.document["label"]


def test_19_a_pull_left_out_after_a_look_and_put_back_is_two_more_looks(place):
    shares = [asked(place).verdict.confidence_spent]
    (first, *_) = workflow.list_pulls(place, PullSelection(**MAPLE))
    workflow.exclude_pull(place, first.stored.id, cause="it looked odd")
    shares.append(asked(place).verdict.confidence_spent)
    workflow.correct_pull(place, first.stored.id, {"excluded_because": ""}, reason="it counts after all")
    shares.append(asked(place).verdict.confidence_spent)
    assert shares == pytest.approx([0.025, 0.0125, 0.00625])
