"""Find a pull, correct it, leave it out, add a photo."""

import pytest

from jointlab.app import benching


@pytest.fixture
def filled(door):
    for number in range(1, 4):
        assert door.record(specimen=str(number)).status_code == 200
    assert door.record(batch="B", glue="epoxy").status_code == 200
    return door


def test_the_filter_narrows_the_list_and_the_file(filled):
    assert "1 to 4 of 4" in filled.get("/pulls").text
    assert "1 to 1 of 1" in filled.get("/pulls?glue=Epoxy").text
    assert "No pull matches" in filled.get("/pulls?glue=hide").text
    assert len(filled.get("/pulls/export.csv?glue=epoxy").text.splitlines()) == 2


def test_a_correction_is_kept_beside_what_stood_there(filled):
    answer = filled.post("/pulls/1/correct", {"reason": "misread", "revision": "1", "load_n": "130,5"})
    assert answer.url.path == "/pulls/1"
    assert "load, N: 122.583125 → 130.5" in answer.text
    assert "misread" in answer.text


def test_a_correction_from_an_old_page_is_refused_with_what_was_typed(filled):
    filled.post("/pulls/1/correct", {"reason": "misread", "revision": "1", "load_n": "130"})
    answer = filled.post("/pulls/1/correct", {"reason": "mine", "revision": "1", "load_n": "140"})
    assert answer.status_code == 409
    assert "corrected by someone else meanwhile" in answer.text
    assert 'value="mine"' in answer.text


def test_leaving_a_form_as_it_was_shown_changes_nothing(filled):
    answer = filled.post("/pulls/1/correct", {"reason": "none", "revision": "1", "load_n": "122.583125"})
    assert answer.status_code == 422


def test_a_pull_is_left_out_only_for_a_cause(filled):
    assert filled.post("/pulls/2/exclude", {"cause": " "}).status_code == 422
    assert "Not used: bar slipped" in filled.post("/pulls/2/exclude", {"cause": "bar slipped"}).text


def test_a_photo_is_added_and_shown(filled, picture):
    filled.get("/pulls/3")
    answer = filled.client.post("/pulls/3/photo", data={"token": filled.token}, files={"photo": ("x", picture)})
    assert 'src="/photos/1" width="320" height="200"' in answer.text
    assert filled.post("/pulls/3/photo").status_code == 422


@pytest.mark.parametrize("path", ["/pulls/99", "/photos/99"])
def test_what_is_not_there_is_said(filled, path):
    answer = filled.get(path)
    assert answer.status_code == 404
    assert "99" in answer.text


def test_a_workbook_and_a_table_to_fill_come_as_files_that_import_again(filled, opened, tmp_path):
    for path, stored in (("/pulls/export.xlsx?glue=epoxy", 1), ("/pulls/template.xlsx", 4), ("/pulls/template.csv", 4)):
        file = filled.client.get(path)
        assert "attachment" in file.headers["content-disposition"]
        name = path.partition("?")[0].rpartition("/")[2]
        other = str(tmp_path / f"{name}.db")
        assert benching.imported(other, file.content, name=name).stored == stored
