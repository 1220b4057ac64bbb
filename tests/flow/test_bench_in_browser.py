"""The bench in a real browser: by thumb, by keyboard, with the network going away, on a phone and on a desk."""

import io
import re
import threading

import pytest

from jointlab.app.cli import main
from jointlab.book.book import Book
from jointlab.book.stored import PaperKind

WIDTHS = [360, 1280]
RECORD = (
    "record --batch A --specimen 1 --tested_on 2026-03-14 --glue pva --substrate maple --action pry --shape disc "
    "--diameter_mm 50 --load_kgf 12.5 --arm_mm 300 --outcome broke"
)

pytestmark = [
    pytest.mark.browser,
    # a browser that goes away in the middle of a request leaves a half-closed socket to the collector
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


class Served:
    """A server in a thread, over a book of its own, that can be stopped and started anew at the same port."""

    def __init__(self, place):
        self.place = place
        self.port = 0
        self.start()

    def start(self):
        import uvicorn

        from jointlab.app.web.application import make_app
        from jointlab.app.web.serving import listening
        from jointlab.app.web.shop import OWN_NAMES, Shop

        self._opening = listening("127.0.0.1", self.port)
        listener, self.port = self._opening.__enter__()
        app = make_app(Shop(place=self.place, names=frozenset({*OWN_NAMES, "shop.test"})))
        self._table = app.application.state.table
        self._server = uvicorn.Server(uvicorn.Config(app, log_level="error", ws="none", timeout_graceful_shutdown=1))
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [listener]})
        self._thread.start()

    def stop(self):
        self._server.should_exit = True
        self._thread.join(timeout=10)
        self._opening.__exit__(None, None, None)

    def at(self, path, host="127.0.0.1"):
        return f"http://{host}:{self.port}{path}"

    def paths(self):
        """Every path the application answers, by its own table of routes, and by which methods."""
        return [(re.sub(r"\{[^}]*\}", "1", route.path), route.methods) for route in self._table]

    def pulls(self):
        with Book.open(self.place) as book:
            return [kept.pull for kept in book.pulls()]


@pytest.fixture
def served(tmp_path):
    place = str(tmp_path / "shop.db")
    assert main([*RECORD.split(), "--book", place]) == 0
    server = Served(place)
    yield server
    server.stop()


def until(tab, expression, waits=200):
    """Wait until it holds; the page's policy forbids the browser's own waiting, which compiles text."""
    for _ in range(waits):
        if tab.evaluate(expression):
            return
        tab.wait_for_timeout(50)
    raise AssertionError(f"never came true: {expression}")


def picture():
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (640, 480), "sienna").save(out, "JPEG")
    return {"name": "break.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def stored(tab, number):
    tab.wait_for_selector(f"#receipt:has-text('Stored: pull {number}')", timeout=10_000)


def test_a_pull_after_the_first_takes_four_touches_and_a_photo_one_more(served, tab):
    tab.goto(served.at("/"))
    touches = 0
    tab.fill("#load", "11,5")  # a touch, and the number on the keypad
    touches += 2
    tab.wait_for_selector("#stress:has-text('broke at 2.76 MPa')")
    tab.click("text=Nearly all wood")
    touches += 1
    tab.set_input_files("#photo", picture())
    touches += 2
    tab.click("#store")
    touches += 1
    stored(tab, 2)
    assert touches <= 8
    pull = served.pulls()[1]
    assert (pull.batch, pull.specimen, pull.broke.wood_pct) == ("A", "2", 90.0)
    assert pull.loading.load == 11.5 * 9.80665
    with Book.open(served.place) as book:
        assert [photo.pull_id for photo in book.photos()] == [2]
    assert tab.evaluate("document.activeElement.id") == "load"
    assert tab.complaints == []


def test_the_whole_entry_by_keyboard_alone(served, tab):
    tab.goto(served.at("/"))
    for _ in range(30):
        if tab.evaluate("document.activeElement.id") == "load":
            break
        tab.keyboard.press("Tab")
    tab.keyboard.type("11.5")
    tab.keyboard.press("Tab")
    tab.keyboard.press("ArrowRight")  # from broke to held
    assert tab.evaluate("document.activeElement.value") == "held"
    tab.keyboard.press("ArrowLeft")
    tab.keyboard.press("Tab")
    assert tab.evaluate("document.activeElement.id") == "photo"
    tab.keyboard.press("Tab")
    tab.keyboard.press("Space")
    assert tab.evaluate("document.activeElement.value") == "wood"
    for _ in range(3):
        tab.keyboard.press("Tab")
        if tab.evaluate("document.activeElement.id") == "store":
            break
    outline = tab.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert outline == "3px"
    tab.keyboard.press("Enter")
    stored(tab, 2)
    assert served.pulls()[1].broke.wood_pct == 90.0


def test_a_reading_that_looks_wrong_is_asked_about_in_place_and_confirmed_with_its_photo(served, tab):
    tab.goto(served.at("/"))
    tab.fill("#load", "900")
    tab.set_input_files("#photo", picture())
    tab.click("#store")
    tab.wait_for_selector("#asked:has-text('check the unit')")
    assert tab.input_value("#load") == "900"
    assert len(served.pulls()) == 1
    tab.click("text=It is right")
    stored(tab, 2)
    with Book.open(served.place) as book:
        assert [photo.pull_id for photo in book.photos()] == [2]


def test_enter_in_a_field_never_answers_a_question(served, tab):
    tab.goto(served.at("/"))
    tab.fill("#load", "900")
    tab.click("#store")
    tab.wait_for_selector("#asked")
    tab.press("#load", "Enter")
    until(tab, "!document.getElementById('store').disabled")
    tab.wait_for_selector("#asked")
    assert len(served.pulls()) == 1


def test_an_entry_that_is_slow_to_be_answered_is_not_sent_a_second_time(served, tab):
    tab.goto(served.at("/"))
    sent = []

    def slowly(route):
        if route.request.method == "POST":
            sent.append(route.request.url)
            tab.wait_for_timeout(4000)  # longer than the queue waits before it tries again
        route.continue_()

    tab.route(served.at("/"), slowly)
    tab.fill("#load", "11")
    tab.set_input_files("#photo", picture())
    tab.click("#store", no_wait_after=True)
    stored(tab, 2)
    assert len(sent) == 1
    with Book.open(served.place) as book:
        assert [photo.pull_id for photo in book.photos()] == [2]


def test_the_unit_stands_beside_the_load_and_follows_its_choice(served, tab):
    tab.goto(served.at("/"))
    assert tab.inner_text("label[for=load]").endswith("kgf")
    tab.click("summary:has-text('Specimen, joint, size and rig')")
    tab.select_option("#load_unit", "load_n")
    assert tab.inner_text("#load-unit") == "N"


def test_what_is_wrong_stays_in_the_form_and_is_attended_to(served, tab):
    tab.goto(served.at("/"))
    tab.fill("#load", "x1")
    tab.click("#store")
    tab.wait_for_selector("#summary:has-text('must be a number')")
    assert tab.input_value("#load") == "x1"
    assert tab.evaluate("document.activeElement.id") == "summary"
    tab.fill("#load", "12")
    tab.click("#store")
    stored(tab, 2)


@pytest.mark.parametrize("host", ["127.0.0.1", "shop.test"])
def test_fifty_entries_with_the_network_cut_in_the_middle_are_stored_once_each(served, tab, host):
    tab.goto(served.at("/", host))
    assert tab.evaluate("isSecureContext") == (host == "127.0.0.1")
    for number in range(50):
        if number == 15:
            tab.context.set_offline(True)
        if number == 35:
            served.stop()  # and the server is started anew meanwhile: tokens change
            tab.context.set_offline(False)
        tab.fill("#load", f"{10 + number / 10:.1f}")
        tab.click("#store")
        until(tab, f"document.getElementById('specimen').value === '{number + 3}'")
    assert "entries wait" in tab.inner_text("#waiting-said")
    served.start()
    tab.wait_for_selector("#waiting", state="hidden", timeout=60_000)
    pulls = served.pulls()[1:]
    assert [pull.specimen for pull in pulls] == [str(number) for number in range(2, 52)]
    loads = [round(pull.loading.load / 9.80665, 6) for pull in pulls]
    assert loads == [round(10 + number / 10, 1) for number in range(50)]


def test_an_answer_lost_on_its_way_back_doubles_nothing(served, tab):
    tab.goto(served.at("/"))
    lost = []

    def lose_the_first(route):
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch())  # it reached the book
            route.abort()
        else:
            route.continue_()

    tab.route(served.at("/"), lose_the_first)
    tab.fill("#load", "11")
    tab.click("#store")
    until(tab, "document.getElementById('specimen').value === '3'")
    tab.wait_for_selector("#waiting", state="hidden", timeout=15_000)
    assert len(lost) == 1
    assert [pull.specimen for pull in served.pulls()] == ["1", "2"]


def test_an_entry_made_offline_that_raises_a_question_waits_for_its_turner(served, tab):
    tab.goto(served.at("/"))
    tab.context.set_offline(True)
    for load in ("900", "11"):
        before = tab.input_value("#specimen")
        tab.fill("#load", load)
        tab.click("#store")
        until(tab, f"document.getElementById('specimen').value !== '{before}'")
    tab.context.set_offline(False)
    tab.wait_for_selector("#waiting-list button", timeout=15_000)
    until(tab, "document.getElementById('waiting-said').textContent.startsWith('1 needs you')")
    assert [pull.specimen for pull in served.pulls()] == ["1", "3"]
    tab.click("text=Look at it")
    tab.click("text=It is right")
    stored(tab, 3)
    assert [pull.specimen for pull in served.pulls()] == ["1", "3", "2"]


def states(tab, served):
    """Every page of the bench and the pulls, and the states they can be in."""
    for path in ("/", "/pulls", "/pulls?glue=none", "/pulls/1", "/import", "/nothing"):
        tab.goto(served.at(path))
        yield path
    tab.goto(served.at("/pulls/1"))
    tab.click("summary:has-text('Correct it')")
    tab.click("summary:has-text('Leave it out')")
    yield "a pull being corrected"
    tab.click("text=Store the correction")
    yield "a correction without a reason"
    tab.goto(served.at("/"))
    for part in tab.query_selector_all("summary"):
        part.click()
    yield "the bench with everything open"
    tab.fill("#load", "900")
    tab.wait_for_selector("#stress:has-text('MPa')")
    tab.click("#store")
    tab.wait_for_selector("#asked")
    yield "a question"
    tab.fill("#load", "x")
    tab.click("#store")
    tab.wait_for_selector("#summary")
    yield "problems"
    tab.context.set_offline(True)
    tab.fill("#load", "9")
    tab.click("#store")
    tab.wait_for_selector("#waiting:visible")
    yield "an entry that waits"
    tab.context.set_offline(False)
    tab.wait_for_selector("#waiting", state="hidden", timeout=15_000)
    tab.fill("#load", "9.5")
    tab.click("#store")
    tab.wait_for_selector("#receipt")
    yield "a receipt"
    tab.goto(served.at("/import"))
    tab.set_input_files("#file", {"name": "a.csv", "mimeType": "text/csv", "buffer": b"batch,foo\n1,2\n"})
    tab.click("text=Look through it")
    tab.wait_for_selector("[role=alert]")
    yield "a bad file"


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_accessibility_rule_is_broken_on_any_page_in_any_state(served, tab, width, scheme):
    from axe_core_python.sync_playwright import Axe

    tab.set_viewport_size({"width": width, "height": 800})
    tab.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    found = {}
    for state in states(tab, served):
        violations = Axe().run(tab)["violations"]
        if violations:
            found[state] = [(one["id"], one["nodes"][0]["html"][:120]) for one in violations]
        wide = tab.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide == 0, state
    assert found == {}


def test_at_twice_the_size_nothing_is_cut_off(served, tab):
    tab.set_viewport_size({"width": 640, "height": 800})
    for path in ("/", "/pulls", "/pulls/1", "/import"):
        tab.goto(served.at(path))
        tab.evaluate("document.documentElement.style.fontSize = '225%'")
        assert tab.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0, path


def test_pages_ask_nothing_of_any_other_server_and_weigh_little(served, tab):
    asked, weight = [], []
    tab.on("request", lambda request: asked.append(request.url))
    tab.on("response", lambda answer: weight.append(len(answer.body())))
    for path in ("/", "/pulls", "/pulls/1", "/import"):
        weight.clear()
        tab.goto(served.at(path))
        assert sum(weight) < 200_000, path
    assert all(url.startswith(served.at("/")) for url in asked)


def test_a_hostile_page_of_another_origin_neither_reads_nor_writes(served, tab):
    tab.goto(served.at("/"))
    tab.route("http://evil.test/**", lambda route: route.fulfill(body="<p>hostile</p>", content_type="text/html"))
    tab.goto("http://evil.test/page")
    read = """async (address) => {
      try { return (await (await fetch(address, {credentials: "include"})).text()).slice(0, 80); }
      catch (error) { return "refused"; }
    }"""
    write = """async (address) => {
      try {
        const body = new URLSearchParams({cause: "x"});
        await fetch(address, {method: "POST", mode: "no-cors", credentials: "include", body});
      } catch (error) { return "refused"; }
      return "sent";
    }"""
    for path, methods in served.paths():
        if "GET" in methods:
            assert tab.evaluate(read, served.at(path)) == "refused", path
        else:
            tab.evaluate(write, served.at(path))
    tab.unroute("http://evil.test/**")
    rebound = tab.goto(f"http://evil.test:{served.port}/pulls")  # the foreign name now points here
    assert rebound.status == 421
    again = "async (path) => { const found = await fetch(path); return [found.status, await found.text()]; }"
    for path, _ in served.paths():
        status, text = tab.evaluate(again, path)
        assert status == 421, path
        assert "maple" not in text, path
    assert [pull.excluded_because for pull in served.pulls()] == [None]
    with Book.open(served.place) as book:
        assert (book.rigs(), book.photos(), book.papers(PaperKind.MOUNT)) == ((), (), ())
