"""Pulls of other shops keep their maker, whatever becomes of them in this book."""

from __future__ import annotations

from pathlib import Path

import pytest

from jointlab.app import workflow
from jointlab.app.foreign import foreign_batches, own_pulls
from jointlab.app.other_shops import import_of_shop
from jointlab.book.stored import PaperKind
from jointlab.errors import InputError

HEAD = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,arm_mm,load_n,outcome\n"


def file_of(folder: Path, batch: str, *loads: float, name: str = "theirs.csv") -> Path:
    rows = [f"{batch},{n},2026-03-01,pva,maple,pry,disc,50,300,{load},broke\n" for n, load in enumerate(loads, 1)]
    path = folder / name
    path.write_text(HEAD + "".join(rows), encoding="utf-8")
    return path


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "shop.db"


def batches(place: Path) -> list[str]:
    return [read.stored.pull.batch for read in workflow.list_pulls(place)]


def foreign(place: Path) -> frozenset[str]:
    with workflow.open_book(place) as book:
        return foreign_batches(book, book.pulls())


def test_two_shops_may_each_have_a_glue_up_of_one_name(place, tmp_path):
    workflow.import_file(place, file_of(tmp_path, "A", 150, 160))
    brought = import_of_shop(place, file_of(tmp_path, "A", 250, 260), "North  Shop")
    assert (brought.receipt.stored, batches(place)) == (2, ["A", "A", "A (North Shop)", "A (North Shop)"])
    assert foreign(place) == {"A (North Shop)"}


def test_importing_again_stores_nothing_and_more_of_the_shop_adds_to_what_is_noted(place, tmp_path):
    import_of_shop(place, file_of(tmp_path, "A", 250, 260), "North")
    assert import_of_shop(place, file_of(tmp_path, "A", 250, 260), "north").receipt.skipped == 2
    import_of_shop(place, file_of(tmp_path, "B", 255), "North")
    with workflow.open_book(place) as book:
        (paper,) = book.papers(PaperKind.SHOP)
    assert (paper.key, paper.revision, paper.document["batches"]) == ("North", 2, ["a (north)", "b (north)"])


def test_a_glue_up_renamed_afterwards_is_still_the_other_shops(place, tmp_path):
    import_of_shop(place, file_of(tmp_path, "A", 250, 260), "North")
    for each in (1, 2):
        workflow.correct_pull(place, each, {"batch": "mine"}, reason="mine now")
    assert foreign(place) == {"mine"}


def test_a_refused_file_leaves_no_pull_and_does_not_touch_the_shops_own(place, tmp_path):
    workflow.import_file(place, file_of(tmp_path, "A", 150, 160))
    twice = tmp_path / "twice.csv"
    twice.write_text(HEAD + 2 * "A,1,2026-03-01,pva,maple,pry,disc,50,300,250,broke\n", encoding="utf-8")
    with pytest.raises(InputError):
        import_of_shop(place, twice, "North")
    assert (batches(place), foreign(place)) == (["A", "A"], frozenset())


def test_a_shop_must_have_a_name(place, tmp_path):
    with pytest.raises(InputError, match="must name the shop"):
        import_of_shop(place, file_of(tmp_path, "A", 250), "  ")


def test_own_pulls_are_neither_another_shops_nor_copies_of_them(place, tmp_path):
    workflow.import_file(place, file_of(tmp_path, "mine", 250, 260, 270, name="copy.csv"))
    workflow.import_file(place, file_of(tmp_path, "C", 150, 160, 170, name="own.csv"))
    import_of_shop(place, file_of(tmp_path, "A", 250, 260, 270), "North")
    with workflow.open_book(place) as book:
        assert {kept.pull.batch for kept in own_pulls(book, book.pulls())} == {"C"}
