"""The bench without scripts: it stores, asks, says what is wrong, and forgets nothing that was typed."""

import pytest

from jointlab.app.cli import main
from jointlab.book.book import Book


def stored(door):
    with Book.open(door.shop.place) as book:
        return [kept.pull for kept in book.pulls()]


def test_an_empty_book_asks_first_what_is_glued_to_what(door):
    text = door.get("/").text
    assert "First say what is glued to what" in text
    assert len(text) < 200_000


def test_a_pull_is_stored_with_a_comma_and_the_next_starts_from_it(door):
    answer = door.record()
    assert answer.headers["x-jointlab-outcome"] == "stored"
    assert "Stored: pull 1</strong>, batch A, specimen 1 – broke at 3 MPa" in answer.text
    assert 'name="specimen" type="text" value="2"' in answer.text
    assert 'name="arm" type="text" value="300"' in answer.text
    assert '<option value="load_kgf" selected>kgf' in answer.text
    pull = stored(door)[0]
    assert pull.loading.load == pytest.approx(12.5 * 9.80665, rel=1e-12)
    assert (pull.broke.wood_pct, pull.broke.adhesive_pct) == (90.0, 10.0)


def test_the_same_entry_sent_again_is_stored_once_also_after_a_restart(door, opened):
    assert "Stored: pull 1" in door.record().text
    assert "Stored already: pull 1" in door.record().text
    restarted = opened(door.shop.place)
    assert "Stored already: pull 1" in restarted.record().text
    assert len(stored(door)) == 1


def test_the_same_entry_is_known_even_when_the_pull_was_corrected_meanwhile(door):
    door.record()
    door.post("/pulls/1/correct", {"reason": "misread", "revision": "1", "load_n": "130"})
    assert "Stored already: pull 1" in door.record().text
    assert [pull.loading.load for pull in stored(door)] == [130.0]


def test_another_pull_of_that_batch_and_specimen_is_told_and_kept_in_the_form(door):
    door.record()
    answer = door.record(load="13")
    assert (answer.status_code, answer.headers["x-jointlab-outcome"]) == (422, "wrong")
    assert 'value="13"' in answer.text
    assert len(stored(door)) == 1


def test_a_reading_that_looks_wrong_is_asked_about_and_can_be_confirmed(door):
    answer = door.record(load="900")
    assert (answer.status_code, answer.headers["x-jointlab-outcome"]) == (422, "asks")
    assert "Does this reading look right?" in answer.text
    assert stored(door) == []
    assert door.record(load="900", confirmed="stress_low").headers["x-jointlab-outcome"] == "asks"
    assert door.record(load="900", confirmed="stress_high ").headers["x-jointlab-outcome"] == "stored"


def test_what_is_wrong_is_said_beside_each_field_and_all_is_kept(door):
    answer = door.record(load="twelve", diameter="-3", notes="mine")
    assert answer.status_code == 422
    for said in (
        'id="load-wrong"',
        'aria-describedby="diameter-wrong"',
        'value="twelve"',
        'value="mine"',
        'value="-3"',
    ):
        assert said in answer.text
    assert stored(door) == []


def test_a_photo_comes_with_the_pull_once(door, picture, entry):
    door.get("/")
    for _ in range(2):
        answer = door.client.post("/", data=entry | {"token": door.token}, files={"photo": ("b.jpg", picture)})
        assert answer.status_code == 200
    with Book.open(door.shop.place) as book:
        assert [photo.pull_id for photo in book.photos()] == [1]
    kept = door.client.get("/photos/1")
    assert (kept.headers["content-type"], kept.content[:2]) == ("image/jpeg", b"\xff\xd8")


def test_the_stress_is_said_while_typing(door, entry):
    assert "broke at 3 MPa" in door.post("/bench/stress", entry).text
    assert "once these are right: diameter" in door.post("/bench/stress", entry | {"diameter": "x"}).text
    assert "while you type" in door.post("/bench/stress", {}).text


def test_the_next_specimen_of_the_plan_comes_first(door, capsys):
    plan = ["plan", "--combination", "pva on maple", "--combination", "epoxy on maple", "--expected_mpa", "4"]
    more = ["--glued_from", "2026-04-01", "--each", "2", "--name", "spring", "--book", door.shop.place]
    assert main([*plan, *more]) == 0
    text = door.get("/").text
    assert "plan spring, glue-up 1 of 2" in text
    assert 'name="batch" type="text" value="spring-1"' in text
    assert 'name="glued_on" type="text" value="2026-04-01"' in text
