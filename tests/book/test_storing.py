"""Recording, importing, correcting, excluding."""

from __future__ import annotations

import dataclasses

import pytest

from jointlab.errors import BookError, InputError
from jointlab.record.names import matched


def test_numbers_are_given_from_one_without_gaps(any_book, pull_of_cells):
    assert [any_book.record(pull_of_cells(specimen=str(n))).id for n in range(1, 4)] == [1, 2, 3]


def test_a_specimen_is_recorded_once_whatever_its_case(any_book, pull_of_cells):
    any_book.record(pull_of_cells(batch="Walnut", specimen="a"))
    with pytest.raises(InputError, match="in the book already \\(pull 1\\)") as refused:
        any_book.record(pull_of_cells(batch=" WALNUT", specimen="A"))
    assert refused.value.problems[0].column == "specimen"
    assert len(any_book.pulls()) == 1


def test_a_first_revision_has_no_reason_and_keeps_by_whom(any_book, pull_of_cells):
    any_book.record(pull_of_cells(), by="  Kim ")
    (first,) = any_book.history(1)
    assert (first.revision, first.reason, first.by) == (1, None, "Kim")


def test_importing_again_skips_what_is_there(any_book, pull_of_cells):
    pulls = [pull_of_cells(specimen=str(n)) for n in range(5)]
    assert dataclasses.astuple(any_book.import_pulls(pulls[:3])) == (3, 0)
    assert dataclasses.astuple(any_book.import_pulls(pulls)) == (2, 3)
    assert [stored.pull for stored in any_book.pulls()] == pulls


def test_importing_again_compares_with_what_was_first_recorded(any_book, pull_of_cells):
    any_book.import_pulls([pull_of_cells()])
    any_book.correct(1, pull_of_cells(load_n="1400"), reason="misread")
    assert any_book.import_pulls([pull_of_cells()]).skipped == 1
    with pytest.raises(InputError, match=r"row 2, load_n = '1400.0': .* first recorded with load_n 1500"):
        any_book.import_pulls([pull_of_cells(load_n="1400")], rows=[2])


def test_a_renamed_pull_is_still_known_under_its_first_name(any_book, pull_of_cells):
    any_book.record(pull_of_cells(batch="G1"))
    any_book.correct(1, pull_of_cells(batch="G2"), reason="wrong batch")
    assert any_book.import_pulls([pull_of_cells(batch="G1")]).skipped == 1
    with pytest.raises(InputError, match="in the book already \\(pull 1\\)"):
        any_book.import_pulls([pull_of_cells(batch="G2")])


def test_one_differing_row_refuses_the_whole_file_and_every_problem_is_told(any_book, pull_of_cells):
    any_book.import_pulls([pull_of_cells(), pull_of_cells(specimen="2")])
    file = [
        pull_of_cells(specimen="new"),
        pull_of_cells(load_n="1", diameter_mm="60"),
        pull_of_cells(specimen="2"),
        pull_of_cells(specimen="NEW"),
        pull_of_cells(specimen="2", notes="second thoughts"),
    ]
    with pytest.raises(InputError) as refused:
        any_book.import_pulls(file, rows=[2, 3, 4, 6, 7])
    assert [(problem.row, problem.column) for problem in refused.value.problems] == [
        (3, "diameter_mm"),
        (6, "specimen"),
        (7, "specimen"),
    ]
    assert "also load_n" in refused.value.problems[0].message
    assert "in row 2 already" in refused.value.problems[1].message
    assert len(any_book.pulls()) == 2
    assert any_book.check().revisions == 2


def test_what_the_reader_of_a_file_raises_undoes_the_import(any_book, pull_of_cells):
    def reading():
        for number in range(900):
            yield pull_of_cells(specimen=str(number))
        raise KeyError("the file ended early")

    with pytest.raises(KeyError):
        any_book.import_pulls(reading())
    assert any_book.pulls() == ()
    assert any_book.record(pull_of_cells()).id == 1


def test_row_numbers_that_do_not_match_the_pulls_store_nothing(any_book, pull_of_cells):
    with pytest.raises(ValueError, match=r"shorter|longer"):
        any_book.import_pulls([pull_of_cells(), pull_of_cells(specimen="2")], rows=[2])
    assert any_book.pulls() == ()


def test_a_long_file_is_stored_in_order_across_chunks(any_book, pull_of_cells):
    pulls = [pull_of_cells(specimen=str(number)) for number in range(901)]
    assert any_book.import_pulls(iter(pulls)).stored == 901
    assert [stored.pull for stored in any_book.pulls()] == pulls
    assert any_book.import_pulls(pulls).skipped == 901
    assert any_book.check().sound


def test_a_correction_is_a_new_revision_beside_the_old(any_book, pull_of_cells):
    any_book.record(pull_of_cells())
    stored = any_book.correct(1, pull_of_cells(load_n="1400"), reason="read the wrong needle", by="Kim")
    assert (stored.id, stored.revision, stored.pull.loading.load) == (1, 2, 1400.0)
    assert any_book.pulls() == (stored,)
    first, second = any_book.history(1)
    assert (first.pull.loading.load, second.pull.loading.load) == (1500.0, 1400.0)
    assert (second.reason, second.by) == ("read the wrong needle", "Kim")


@pytest.mark.parametrize("reason", ["", "  \t "])
def test_a_correction_needs_a_reason(any_book, pull_of_cells, reason):
    any_book.record(pull_of_cells())
    with pytest.raises(InputError, match="say why"):
        any_book.correct(1, pull_of_cells(load_n="1400"), reason=reason)


def test_a_correction_that_changes_nothing_is_refused(any_book, pull_of_cells):
    any_book.record(pull_of_cells())
    with pytest.raises(InputError, match="nothing to correct"):
        any_book.correct(1, pull_of_cells(), reason="again")


def test_a_correction_cannot_take_the_name_of_another_pull(any_book, pull_of_cells):
    any_book.record(pull_of_cells())
    any_book.record(pull_of_cells(specimen="2"))
    with pytest.raises(InputError, match="pull 1"):
        any_book.correct(2, pull_of_cells(), reason="renamed")
    assert any_book.pull(2).revision == 1


def test_a_correction_made_from_an_older_revision_is_not_stored_over_a_newer(any_book, pull_of_cells):
    any_book.record(pull_of_cells())
    any_book.correct(1, pull_of_cells(load_n="1400"), reason="misread", seen_revision=1)
    with pytest.raises(BookError, match="meanwhile: it is at revision 2, not 1"):
        any_book.correct(1, pull_of_cells(load_n="1300"), reason="misread", seen_revision=1)
    assert any_book.pull(1).pull.loading.load == 1400.0


def test_an_excluded_pull_is_kept_with_its_cause(any_book, pull_of_cells):
    any_book.record(pull_of_cells())
    stored = any_book.exclude(1, cause="the jaw slipped")
    assert (stored.revision, stored.pull.excluded_because) == (2, "the jaw slipped")
    assert any_book.pulls() == (stored,)
    assert any_book.history(1)[1].reason == "the jaw slipped"
    assert any_book.combinations()[0].excluded == 1
    with pytest.raises(InputError, match="for that cause already"):
        any_book.exclude(1, cause="the jaw  slipped")
    with pytest.raises(InputError, match="say why"):
        any_book.exclude(1, cause=" ")


@pytest.mark.parametrize("text", ["x" * 201, "two\x00parts"])
def test_reasons_and_names_are_one_printable_line(any_book, pull_of_cells, text):
    any_book.record(pull_of_cells())
    with pytest.raises(InputError, match="one line of at most 200"):
        any_book.correct(1, pull_of_cells(load_n="2"), reason=text)
    with pytest.raises(InputError, match="one line of at most 200"):
        any_book.record(pull_of_cells(specimen="2"), by=text)
    assert any_book.check().revisions == 1


def test_a_number_that_is_none_is_refused_before_a_database_makes_a_blank_of_it(any_book, pull_of_cells):
    pull = pull_of_cells()
    broken = dataclasses.replace(pull, loading=dataclasses.replace(pull.loading, load=float("nan")))
    with pytest.raises(InputError, match="finite"):
        any_book.record(broken)


def test_a_pull_beyond_the_limits_is_refused_by_the_book_itself(any_book, pull_of_cells):
    pull = pull_of_cells()
    broken = dataclasses.replace(pull, loading=dataclasses.replace(pull.loading, load=1e9))
    with pytest.raises(InputError, match="limit_load_n"):
        any_book.record(broken)
    assert any_book.pulls() == ()


def test_names_whose_case_changes_their_length_are_one_name(any_book, pull_of_cells):
    any_book.record(pull_of_cells(glue="Straße"))
    any_book.record(pull_of_cells(glue="STRASSE", specimen="2"))
    assert [combination.pulls for combination in any_book.combinations()] == [2]
    assert matched("Straße") == matched("STRASSE")
