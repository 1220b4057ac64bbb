import pytest

from jointlab.errors import InputError
from jointlab.pool.values import FieldEntry
from jointlab.publish.field_file import field_entries, field_file, in_order
from jointlab.publish.package import data_package
from jointlab.publish.page import results_page

ENDED = FieldEntry(220.0, 90.0, "firm", "near_miss", "pass", 2.1, 1.5, 600.0, 1.0, "pried")
IN_USE = FieldEntry(300.0, 80.0, None, None, "undecided")


def test_mounts_come_back_as_they_were_in_an_order_that_tells_nothing():
    assert field_entries(field_file([ENDED, IN_USE]), name="p") == (ENDED, IN_USE)
    assert field_file([IN_USE, ENDED]) == field_file([ENDED, IN_USE])


@pytest.mark.parametrize("cell", [b"exploded", b"=1+1", b"<b>"])
def test_a_word_outside_the_closed_lists_is_refused(cell):
    with pytest.raises(InputError, match=r"row 2, field_records\.csv: end"):
        field_entries(field_file([ENDED]).replace(b"near_miss", cell), name="p")


def test_other_columns_are_refused():
    with pytest.raises(InputError, match="other columns than ours"):
        field_entries(field_file([ENDED]).replace(b"hours", b"names"), name="p")


def test_package_and_page_show_how_mounts_went(made):
    publication = made.publication_of(field=(IN_USE, ENDED))
    assert data_package(publication)["field_records.csv"] == field_file([ENDED, IN_USE])
    page = results_page(publication)
    assert "How mounts went" in page
    assert page.index("near miss</th>") < page.index("in use</th>")
    assert "field_records.csv" not in data_package(made.publication_of())


def test_the_order_is_the_same_before_writing_and_after_reading():
    entries = (IN_USE, ENDED, FieldEntry(220.0, 80.0, None, "finished", "fail"))
    assert field_entries(field_file(entries), name="p") == in_order(entries)
