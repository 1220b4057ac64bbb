"""Looks are counted by the evidence they are at, and a plan kept before them gives each its share."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from jointlab.app import previewing, workflow
from jointlab.app.looking import doubts_left
from jointlab.book.stored import PaperKind
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Combination
from jointlab.verdict.values import Outcome

MOUNT = "jointlab/app/demo_data/mounts/bowl_on_maple.toml"
MAPLE = {"glue": "yellow wood glue", "substrate": "hard maple scrap", "preparation": "", "action": "pry"}
MAPLE_KEY = Combination("yellow wood glue", "hard maple scrap")


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("looks") / "shop.db"
    workflow.import_file(place, Path("jointlab/app/demo_data/pulls.csv"))
    return place


@pytest.fixture
def place(filled: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(filled, tmp_path / "shop.db"))


def asked(place: Path, *settings: str) -> workflow.Decision:
    return workflow.decide_mount(place, Path(MOUNT), settings)


def keep_plan(place: Path, *, name: str, looks: int, batches: tuple[str, ...] = ()) -> None:
    document = {"schema": 1, "combinations": [MAPLE], "looks": looks, "glue_ups": [{"batch": each} for each in batches]}
    with workflow.open_book(place) as book:
        book.keep_paper(PaperKind.PLAN, document, key=name)


def add_pull(place: Path, *, batch: str, specimen: str, load: str = "17") -> None:
    cells = {"batch": batch, "specimen": specimen, "tested_on": "2026-03-01", "action": "pry", "shape": "disc"}
    cells |= {name: MAPLE[name] for name in ("glue", "substrate")}
    cells |= {
        "diameter_mm": "50",
        "arm_mm": "300",
        "load_kgf": load,
        "outcome": "broke",
        "substrate_kind": "solid_face",
    }
    workflow.record_pull(place, cells)


def spent(decision: workflow.Decision) -> float:
    return round(decision.verdict.confidence_spent, 9)


def codes(decision: workflow.Decision) -> set[FindingCode]:
    return {finding.code for finding in decision.verdict.findings}


def test_without_a_plan_each_look_at_new_evidence_spends_half_of_what_is_left(place):
    shares = [spent(asked(place))]
    for specimen in ("1", "2"):
        add_pull(place, batch="Y9", specimen=specimen)
        shares.append(spent(asked(place)))
    assert shares == [0.025, 0.0125, 0.00625]


def test_the_same_evidence_is_the_same_look_whatever_else_is_asked(place):
    first = asked(place)
    again = asked(place, "joint.diameter_mm=90", "lathe.rpm=500")
    assert (spent(first), spent(again)) == (0.025, 0.025)
    with workflow.open_book(place) as book:
        (kept,) = book.papers(PaperKind.LOOK)
    assert kept.document["verdict"] == "pass"
    assert kept.document["mount"] == "bowl_on_maple"
    assert kept.document["margin_lower"] == first.verdict.margin_lower
    assert len(kept.document["pulls"]) == 24


def test_dropping_a_pull_for_a_cause_is_new_evidence_and_so_another_look(place):
    asked(place)
    workflow.exclude_pull(place, 1, cause="the bar slipped")
    assert spent(asked(place)) == 0.0125


def test_a_plan_of_one_look_kept_before_the_first_lets_it_spend_all(place):
    keep_plan(place, name="trial", looks=1)
    decision = asked(place)
    assert (spent(decision), decision.verdict.verdict) == (0.05, Outcome.PASS)
    assert FindingCode.LOOKS_SPENT not in codes(decision)


def test_looks_beyond_the_plan_are_never_a_pass(place):
    keep_plan(place, name="trial", looks=1)
    asked(place)
    add_pull(place, batch="Y9", specimen="1")
    beyond = asked(place)
    assert beyond.verdict.verdict is Outcome.UNDECIDED
    assert FindingCode.LOOKS_SPENT in codes(beyond)


def test_a_plan_kept_after_a_look_shares_what_that_left_and_counts_every_pull(place):
    asked(place)
    keep_plan(place, name="second", looks=1, batches=("Z1", "Z2"))
    assert spent(asked(place)) == 0.025  # no new evidence yet: the look that was
    for batch in ("Z1", "Z2"):
        for number, load in enumerate(("16", "17", "18", "17.5"), start=1):
            add_pull(place, batch=batch, specimen=str(number), load=load)
    later = asked(place)
    assert spent(later) == 0.025
    assert later.evidence is not None
    assert (later.evidence.tension.n_usable, len(later.evidence.tension.batches)) == (20, 4)


def test_however_many_plans_follow_each_other_they_share_one_doubt(place):
    total = 0.0
    for number in range(4):
        keep_plan(place, name=f"plan {number}", looks=2, batches=(f"Z{number}",))
        add_pull(place, batch=f"Z{number}", specimen="1")
        decision = asked(place)
        total += decision.verdict.confidence_spent
        assert spent(decision) == round(0.05 / 2 ** (number + 1), 9)
    assert total < 0.05


def test_a_plan_after_one_that_spent_all_is_never_a_pass(place):
    keep_plan(place, name="first", looks=1)
    assert asked(place).verdict.verdict is Outcome.PASS
    keep_plan(place, name="second", looks=1, batches=("Z1",))
    assert asked(place).verdict.verdict is Outcome.PASS  # the same evidence is the same look
    add_pull(place, batch="Z1", specimen="1")
    again = asked(place)
    assert (again.verdict.verdict, FindingCode.LOOKS_SPENT in codes(again)) == (Outcome.UNDECIDED, True)


def test_asked_before_the_planned_glue_ups_are_complete_nothing_is_spent_and_nothing_passes(place):
    specimens = [{"specimen": number, "combination": 0} for number in ("M1", "M2")]
    document = {"schema": 1, "combinations": [MAPLE], "looks": 1}
    with workflow.open_book(place) as book:
        glue_ups = [{"batch": name, "specimens": specimens} for name in ("Y1", "Z1")]
        book.keep_paper(PaperKind.PLAN, {**document, "glue_ups": glue_ups}, key="whole")
    early = asked(place)
    assert (early.verdict.verdict, FindingCode.LOOK_EARLY in codes(early)) == (Outcome.UNDECIDED, True)
    preview = previewing.preview_setup(place, early.setup, name="early")
    assert (preview.taken_down, preview.decision.verdict.verdict) == (True, Outcome.UNDECIDED)
    add_pull(place, batch="Z1", specimen="M1")
    assert "Z1 M2" in next(
        found.text for found in asked(place).verdict.findings if found.code is FindingCode.LOOK_EARLY
    )
    add_pull(place, batch="Z1", specimen="M2")
    due = asked(place)
    assert (spent(due), due.verdict.verdict) == (0.05, Outcome.PASS)


def test_a_book_that_cannot_be_written_still_answers_but_never_with_a_pass(place, monkeypatch):
    from jointlab.book.book import Book
    from jointlab.errors import BookError

    def refuse(*_: object, **__: object) -> None:
        raise BookError("The shop book is read-only.")

    assert asked(place).verdict.verdict is Outcome.PASS
    add_pull(place, batch="Y9", specimen="1")
    monkeypatch.setattr(Book, "keep_paper", refuse)
    untraced = asked(place)
    assert untraced.verdict.verdict is Outcome.UNDECIDED
    assert FindingCode.LOOK_NOT_KEPT in codes(untraced)


def test_without_pulls_no_look_is_taken(tmp_path):
    empty = tmp_path / "empty.db"
    assert FindingCode.NO_PULLS in codes(asked(empty))
    with workflow.open_book(empty) as book:
        assert book.papers(PaperKind.LOOK) == ()


def test_more_looks_written_into_a_plan_after_its_first_do_not_count(place):
    keep_plan(place, name="trial", looks=1)
    asked(place)
    document = {"schema": 1, "combinations": [MAPLE], "looks": 5, "glue_ups": []}
    with workflow.open_book(place) as book:
        book.keep_paper(PaperKind.PLAN, document, key="trial", reason="more looks, please")
    add_pull(place, batch="Y9", specimen="1")
    assert FindingCode.LOOKS_SPENT in codes(asked(place))


def test_looks_count_on_when_the_pulls_are_given_another_combination_s_name(place):
    asked(place)
    with workflow.open_book(place) as book:
        ids = [kept.id for kept in book.pulls(workflow.PullSelection(glue=MAPLE["glue"], substrate=MAPLE["substrate"]))]
    for each in ids:
        workflow.correct_pull(place, each, {"substrate": "good maple scrap"}, reason="a better name")
    again = asked(place, "joint.substrate=good maple scrap")
    assert (spent(again), again.verdict.verdict) == (0.0125, Outcome.PASS)


def test_what_looks_left_of_the_doubt_is_told_of_those_combinations_that_were_looked_at(place):
    other = Combination("epoxy", "birch plywood")
    with workflow.open_book(place) as book:
        assert doubts_left(book, [MAPLE_KEY, other]) == ()
    asked(place)
    add_pull(place, batch="Y9", specimen="1")
    asked(place)
    with workflow.open_book(place) as book:
        (found,) = doubts_left(book, [MAPLE_KEY, other])
    assert (found.combination, found.looks, found.left) == (MAPLE_KEY, 2, 0.25)
    keep_plan(place, name="again", looks=1)
    add_pull(place, batch="Y9", specimen="2")
    asked(place)
    with workflow.open_book(place) as book:
        (found,) = doubts_left(book, [MAPLE_KEY])
    assert (found.looks, found.left) == (3, 0.0)
