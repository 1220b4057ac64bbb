from __future__ import annotations

from dataclasses import replace

from jointlab.publish.sentences import (
    answer_of,
    catch_sentence,
    margin_sentence,
    mount_answer,
    question_of,
    strength_is_relied_on,
)
from jointlab.record.finding import Finding, FindingCode, Severity


def test_a_shops_own_question_stands_before_ours(made) -> None:
    assert question_of(made.publication_of(question="Will it hold?")) == "Will it hold?"


def test_the_answer_names_force_margin_link_and_case(made) -> None:
    assert mount_answer(made.mount_of()) == (
        "Margin met under these assumptions: the mount stands a grab of 2340 N (238 kgf) at the furthest cut with the "
        "margin of 1.5 that is asked; the glue line governs (severe catch)."
    )


def test_several_screws_govern(made) -> None:
    mount = made.mount_of()
    assert "the screws govern (" in mount_answer(
        replace(mount, verdict=replace(mount.verdict, governing_link="screws"))
    )


def test_both_margins_are_told_and_only_one_when_they_agree(made) -> None:
    mount = made.mount_of()
    assert margin_sentence(mount) == "The margin is at least 2.25, and could be as much as 2.75; 1.5 is asked."
    same = replace(mount, verdict=replace(mount.verdict, margin_upper=2.25))
    assert margin_sentence(same) == "The margin is at least 2.25; 1.5 is asked."
    none = replace(mount, verdict=replace(mount.verdict, margin_lower=None, margin_upper=None))
    assert margin_sentence(none) == "No margin can be given; 1.5 is asked."


def test_the_classes_of_catch_are_told_in_newtons(made) -> None:
    # The classes: chips of 5, 16 and 50 mm2 at 60 N/mm2, rounded as the mount room has them.
    assert "a light one 300 N, a firm one 1000 N and a severe one 3000 N" in catch_sentence(made.mount_of())


def test_a_bound_held_open_by_a_finding_is_not_relied_on(made) -> None:
    maple, ply = made.publication_of().strengths
    assert strength_is_relied_on(maple)
    assert not strength_is_relied_on(ply)
    assert not strength_is_relied_on(replace(maple, findings=ply.findings))
    few = Finding(FindingCode.FEW_PULLS, Severity.WARNING, "four pulls")
    assert not strength_is_relied_on(replace(maple, findings=(few,)))
    assert "Nothing can be relied on yet" in answer_of(made.publication_of(mounts=(), strengths=(ply,)))
