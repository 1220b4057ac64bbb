"""Who is let in, once, and who is not."""

import pytest

from jointlab.app.web import pairing
from jointlab.app.web.pairing import Pairing


class Clock:
    def __init__(self):
        self.now = 0.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def shut_door(place, opened):
    return opened(place, pairing=Pairing())


def test_a_link_lets_one_browser_in_once(clock):
    let_in = Pairing(clock=clock)
    word = let_in.new_link()
    cookie = let_in.pair(word)
    assert let_in.knows(cookie)
    assert let_in.pair(word) is None
    assert not let_in.knows("another")
    assert not let_in.knows(None)


def test_a_link_grows_old(clock):
    let_in = Pairing(clock=clock)
    word = let_in.new_link()
    clock.now = pairing.LINK_HOLDS_S
    assert let_in.pair(word) is None


def test_after_ten_wrong_links_even_the_right_one_waits_a_minute(clock):
    let_in = Pairing(clock=clock)
    word = let_in.new_link()
    for _ in range(pairing.MOST_TRIES):
        assert let_in.pair("wrong") is None
    assert let_in.shut
    assert let_in.pair(word) is None
    clock.now = pairing.TRIES_WITHIN_S
    assert not let_in.shut
    assert let_in.pair(word) is not None


@pytest.mark.parametrize(
    "path", ["/", "/pulls", "/api/pulls", "/api/token", "/token", "/photos/1", "/api/openapi.json"]
)
def test_the_unpaired_read_and_write_nothing(shut_door, path):
    assert shut_door.client.get(path).status_code == 401
    assert shut_door.client.post(path).status_code == 401


def test_looking_at_the_link_does_not_use_it_up_and_the_button_does(shut_door):
    word = shut_door.shop.pairing.new_link()
    for _ in range(2):
        assert "not encrypted" in shut_door.get(f"/pair/{word}").text
    assert shut_door.client.get("/").status_code == 401
    answer = shut_door.post(f"/pair/{word}")
    assert (answer.status_code, answer.url.path) == (200, "/")
    assert shut_door.get("/pulls").status_code == 200
    again = shut_door.post(f"/pair/{word}")
    assert again.status_code == 403
    assert "data:image/svg+xml" in shut_door.get("/pair/another").text


def test_a_stranger_gets_no_link_of_a_paired_one_and_is_slowed_down(shut_door):
    assert shut_door.get("/pair/another").status_code == 404
    shut_door.get("/pair/guess")
    codes = [shut_door.post(f"/pair/guess{number}").status_code for number in range(12)]
    assert codes == [403] * 9 + [429] * 3
