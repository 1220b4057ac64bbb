"""Long work says how far it is, goes on when its page is left, and is there on return: strength, compare, publish."""

import re
import threading
from pathlib import Path

import pytest

from jointlab.app import comparing, publishing, workflow
from jointlab.app.web.desk import MOST_KEPT, Desk

DEMO = Path(__file__).parents[3] / "datasets" / "demo"


class Gate:
    """Holds work up until it is opened."""

    def __init__(self):
        self.reached, self.open = threading.Event(), threading.Event()

    def __call__(self):
        self.reached.set()
        assert self.open.wait(30)


@pytest.fixture
def gate():
    held = Gate()
    yield held
    held.open.set()


@pytest.fixture
def filled(door, place):
    workflow.import_file(place, DEMO / "pulls.csv")
    return door


def settled(door, path, words):
    """The page asked for again until it says so, as its script does."""
    for _ in range(60):
        text = door.get(path).text
        if words in text:
            return text
    raise AssertionError(f"{path} never said {words}: {text[1500:3500]}")


def test_strengths_go_on_when_the_page_is_left(filled, monkeypatch, gate):
    whole = workflow.strengths_of

    def slowly(pulls, *, progress=None, **more):
        for _ in () if progress is None else progress(("a", "b", "c"), "combinations"):
            gate()
        return whole(pulls, **more)

    monkeypatch.setattr(workflow, "strengths_of", slowly)
    text = filled.get("/strength?glue=hot+melt").text
    assert "0 of 3 done" in text
    assert "You can leave this page" in text
    assert filled.get("/pulls").status_code == 200
    gate.open.set()
    assert "MPa" in settled(filled, "/strength?glue=hot+melt", 'aria-label="Strengths"')


def test_a_comparison_goes_on_when_the_page_is_left(filled, monkeypatch, gate):
    whole = comparing.compare_combinations

    def slowly(*samples, **more):
        gate()
        return whole(*samples, **more)

    monkeypatch.setattr(comparing, "compare_combinations", slowly)
    text = filled.get("/compare").text
    assert re.search(r"Comparing\.</strong> 0 of \d done", text)
    assert '<progress max="' in text
    assert filled.get("/pulls").status_code == 200
    gate.open.set()
    assert "Combinations under a pry" in settled(filled, "/compare", "Combinations under a pry")


def test_a_package_goes_on_when_the_page_is_left_and_is_found_from_the_form(filled, place, monkeypatch, gate):
    def slowly(*_, **__):
        gate()
        return {"index.html": b"<title>Maple</title>"}

    monkeypatch.setattr(publishing, "results_files", slowly)
    sent = filled.post("/publish", {"title": "Maple & glue", "glue": "hot melt"}, follow_redirects=False)
    assert "0 of 1 done" in filled.get(sent.headers["location"]).text
    assert gate.reached.wait(10)
    text = filled.get("/publish").text
    address = re.search(r'<a href="(/publish/made\?key=[^"]+)">Maple &amp; glue</a>: still being worked on', text)[1]
    assert address == sent.headers["location"]
    gate.open.set()
    text = settled(filled, address, "It is ready")
    assert "Maple &amp; glue</a>: done" in filled.get("/publish").text
    package = filled.client.get(re.search(r'href="(/publish/package.zip[^"]+)"', text)[1])
    assert package.content.startswith(b"PK")


def test_what_cannot_be_published_is_said_on_return(filled, monkeypatch):
    def refused(*_, **__):
        raise RuntimeError("secret detail")

    monkeypatch.setattr(publishing, "results_files", refused)
    sent = filled.post("/publish", {"title": "x"}, follow_redirects=False)
    answer = filled.get(sent.headers["location"])
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "x</a>: did not work" in filled.get("/publish").text


def test_work_that_waits_for_other_work_says_so(filled, monkeypatch, gate):
    monkeypatch.setattr(publishing, "results_files", lambda *_, **__: gate())
    filled.post("/publish", {"title": "x"})
    assert gate.reached.wait(10)
    assert "It waits its turn" in filled.get("/strength?glue=hot+melt").text


def test_the_oldest_finished_work_is_forgotten_first():
    desk = Desk()
    for number in range(MOST_KEPT + 6):
        assert desk.job(number, lambda _: None, title=f"{number}").is_done(within_s=10)
    desk.job("one more", lambda _: None).is_done(within_s=10)
    assert desk.known(0) is None
    assert desk.known(MOST_KEPT + 5) is not None
    assert next(key for key, _ in desk.titled()) == MOST_KEPT + 5
    assert len(desk.titled()) <= MOST_KEPT
