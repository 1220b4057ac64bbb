"""Every page and state in a real browser: on a phone and on a desk, light and dark, enlarged, printed.

With the folder named in ``JOINTLAB_SCREENSHOTS`` each page is also kept there as a picture at both widths.
"""

import io
import os
import re
import threading
import tomllib
from pathlib import Path

import pytest
from fastapi.routing import APIRoute
from starlette.responses import HTMLResponse

from jointlab.app import benching, mount_folder, mounting, planning, rigging, workflow
from jointlab.app.web.application import make_app
from jointlab.app.web.mount_state import state_of_document
from jointlab.app.web.pairing import Pairing
from jointlab.app.web.shop import Shop
from jointlab.record.photo import cleaned_photo
from jointlab.verdict.field_record import End, Ended, Event, Removal

DEMO = Path(__file__).parents[2] / "datasets" / "demo"
MOUNT = DEMO / "mounts" / "bowl_on_maple.toml"
STATE = state_of_document(tomllib.loads(MOUNT.read_text()), name="bowl_on_maple")
AHEAD = state_of_document(tomllib.loads((DEMO / "mounts" / "bowl_on_mdf.toml").read_text()), name="bowl_on_mdf")
WIDTHS = (360, 1280)
DOUBTED = "combinations=yellow+wood+glue+on+hard+maple+scrap&expected_mpa=4&glued_from=2026-04-01&each=6"
PLANNED = "combinations=pva+on+maple&expected_mpa=4&glued_from=2026-04-01&each=3"
STATES = {
    "bench": ("/", "#load"),
    "pulls": ("/pulls", "main table"),
    "pulls-none": ("/pulls?glue=none", "main"),
    "pull": ("/pulls/1", ".photos img"),
    "import": ("/import", "form"),
    "rigs": ("/rigs", "main table"),
    "rigs-kept": ("/rigs?kept=hook+scale", ".note.done"),
    "plan": (f"/plan?{PLANNED}", "#answer table"),
    "plan-wrong": ("/plan?combinations=pva&expected_mpa=x", "#expected_mpa-wrong"),
    "plan-kept": ("/plan/kept?name=spring", "main table"),
    "plan-doubt": (f"/plan?{DOUBTED}", "#answer .note.ask"),
    "strength": ("/strength?glue=yellow+wood+glue", "#answer table"),
    "strength-wrong": ("/strength?coverage=2", "#coverage-wrong"),
    "compare": ("/compare?glue=yellow+wood+glue&trend=area_mm2", "#answer table"),
    "compare-wrong": ("/compare?control=none", "#control-wrong"),
    "compare-nothing": ("/compare?glue=hot+melt", ".note"),
    "mount": (f"/mount?{STATE.query}", ".verdict"),
    "mount-ahead": (f"/mount?{AHEAD.query}", ".verdict button"),
    "mount-wrong": (f"/mount?{STATE.query.replace('rpm=600', 'rpm=fast')}", "[id='lathe.rpm-wrong']"),
    "mount-half": ("/mount?blank.diameter_mm=250&joint.glue=pva", ".still"),
    "mount-form": ("/mount", "form"),
    "mount-envelope": (f"/mount/envelope?{STATE.query}", "main table"),
    "mounts": ("/mounts", "main table"),
    "mounts-one": ("/mounts/one?name=cherry+bowl", ".photos img"),
    "mounts-void": ("/mounts/one?name=caught", ".note.stop"),
    "mounts-pried": ("/mounts/one?name=done", "#scale"),
    "mounts-proof": ("/mounts/proof?name=cherry+bowl", "ol"),
    "publish": ("/publish", "form"),
    "not-there": ("/nothing", ".note.stop"),
}
ELSEWHERE = {"/pair/another", "/pair/{word}", "/publish/made"}
"""Pages that need a device to be let in, or a package being made: each is looked at in a test of its own."""


def pages():
    """Every page of the application, by its own table of routes: a new page is in it."""
    table = make_app(Shop(place="never opened")).application.state.table
    return tuple(
        route for route in table
        if isinstance(route, APIRoute) and route.response_class is HTMLResponse and "GET" in route.methods
    )  # fmt: skip


PAGES = pages()
EMPTY = tuple(route.path for route in PAGES if route.path.count("/") == 1)
WEIGHED = [
    next((name for name, (at, _) in STATES.items() if route.path_regex.match(at.partition("?")[0])), route.path)
    for route in PAGES
    if route.path not in ELSEWHERE
]
"""A state of each page; the path itself where none is looked at, which fails."""

pytestmark = [
    pytest.mark.browser,
    # a browser that goes away in the middle of a request leaves a half-closed socket to the collector
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


def picture(colour):
    from PIL import Image, ImageDraw

    out, image = io.BytesIO(), Image.new("RGB", (640, 400), colour)
    ImageDraw.Draw(image).ellipse((180, 60, 460, 340), fill="burlywood")
    image.save(out, "JPEG")
    return cleaned_photo(out.getvalue(), name="break.jpg")


def filled(place):
    """A book with something for every page to show."""
    workflow.import_file(place, DEMO / "pulls.csv")
    benching.photo_added(place, 1, picture("sienna"))
    scale = {"kind": "scale_in_line", "capacity_kgf": "50", "resolution_kgf": "0.1", "class_pct": "1"}
    rigging.keep_rig(place, "hook scale", scale, today="2026-03-01")
    rigging.keep_rig(place, "bar and scale", {"kind": "bar_and_scale", "arm_mm": "300"}, today="2026-03-01")
    known = {"known_kgf": "20", "shown_kgf": "20.4"}
    rigging.check_rig(place, "bar and scale", known, checked_on="2025-10-01", today="2026-03-01")
    words = planning.PlanWords(
        ("yellow wood glue on beech", "hide glue on beech"), 4.0, "2026-04-01", each=3, name="spring"
    )
    planning.keep_plan(place, planning.planned(place, words))
    for name, speed in (("cherry bowl", 600), ("caught", 601), ("done", 602)):
        mounting.start_mount(place, MOUNT, [f"lathe.rpm={speed}"], name=name)
    workflow.decide_mount(place, MOUNT)
    mount_folder.keep_mount_photo(place, "cherry bowl", picture("saddlebrown"), caption="the joint, trued")
    mounting.keep_event(place, "cherry bowl", Event("", hours=1.5, note="no tick"))
    mounting.keep_event(place, "caught", Event("", hours=0.5, catches=(("firm", 1),)))
    mounting.end_mount(place, "done", Ended("", End.FINISHED, Removal.PRIED_WITH_SCALE))


@pytest.fixture(scope="module")
def address(tmp_path_factory, serve):
    place = str(tmp_path_factory.mktemp("browser") / "shop.db")
    filled(place)
    return serve(place)


def sideways(tab):
    return tab.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")


def looked_at(tab, name):
    """No rule of accessibility is broken at either width, light or dark; nothing scrolls sideways, enlarged neither."""
    from axe_core_python.sync_playwright import Axe

    kept = os.environ.get("JOINTLAB_SCREENSHOTS")
    for width in WIDTHS:
        tab.set_viewport_size({"width": width, "height": 800})
        if kept:
            tab.emulate_media(color_scheme="light", reduced_motion="reduce")
            tab.screenshot(path=Path(kept) / f"{name}-{width}.png", full_page=True)
    tab.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    for width in WIDTHS:
        tab.set_viewport_size({"width": width, "height": 800})
        assert sideways(tab) == 0, (name, width)
        for scheme in ("light", "dark"):
            tab.emulate_media(color_scheme=scheme, reduced_motion="reduce")
            found = Axe().run(tab)["violations"]
            assert [(one["id"], one["nodes"][0]["html"][:120]) for one in found] == [], (name, width, scheme)
    tab.set_viewport_size({"width": 180, "height": 400})  # a phone of 360 px at 200 %
    assert sideways(tab) == 0, (name, "enlarged")


def refused_only(complaints):
    """What the browser says of an answer that is no success is no complaint of the page."""
    return [each for each in complaints if "status of 4" not in each]


@pytest.mark.parametrize("name", STATES)
def test_no_accessibility_rule_is_broken_and_nothing_scrolls_sideways(tab, address, name):
    path, shown = STATES[name]
    tab.goto(address + path)
    tab.wait_for_selector(shown)
    looked_at(tab, name)
    assert refused_only(tab.complaints) == []


def test_every_page_of_the_application_is_among_those_looked_at():
    assert {route.path for route in PAGES} >= {"/", "/rigs", "/mounts/one", "/pulls/{pull_id}", *ELSEWHERE}
    assert set(WEIGHED) <= set(STATES)
    assert set(EMPTY) >= {"/", "/pulls", "/rigs", "/plan", "/strength", "/compare", "/mount", "/mounts", "/publish"}


@pytest.mark.parametrize("path", EMPTY)
def test_neither_while_the_book_is_empty(tab, tmp_path, serve, path):
    tab.goto(serve(tmp_path / "empty.db") + path)
    tab.wait_for_load_state()
    looked_at(tab, f"empty{path.replace('/', '-').rstrip('-')}")
    assert refused_only(tab.complaints) == []


def test_neither_while_a_device_is_let_in(tab, tmp_path, serve):
    pairing = Pairing()
    at = serve(tmp_path / "shop.db", pairing=pairing)
    tab.goto(f"{at}/pair/{pairing.new_link()}")
    looked_at(tab, "pair")
    tab.set_viewport_size({"width": 360, "height": 800})
    tab.click("main button")
    tab.wait_for_selector("#load")
    tab.click("footer a")
    tab.wait_for_selector("main img")
    looked_at(tab, "pair-another")
    tab.goto(f"{at}/pair/none")
    tab.click("main button")
    tab.wait_for_selector(".note.stop")
    looked_at(tab, "pair-refused")
    assert refused_only(tab.complaints) == []


def test_the_answer_and_the_address_follow_what_is_typed(tab, address):
    tab.goto(f"{address}/mount?{STATE.query}")
    before = tab.inner_text(".lead")
    tab.fill("[id='lathe.rpm']", "1400")
    tab.wait_for_url(re.compile(r"lathe\.rpm=1400"))
    tab.wait_for_function("before => document.querySelector('.lead').innerText !== before", arg=before)
    assert "lathe.rpm=1400" in tab.url
    assert tab.get_attribute(".stands img", "alt")
    assert tab.evaluate("document.querySelector('#answer img').src").endswith(tab.url.partition("?")[2])
    assert tab.complaints == []


PRINTED = ("pulls", "strength", "compare", "mount", "plan-kept", "mounts-one")


@pytest.mark.parametrize("name", PRINTED)
def test_on_paper_it_is_black_on_white_without_what_cannot_be_pressed(tab, address, name):
    path, shown = STATES[name]
    tab.goto(address + path)
    tab.wait_for_selector(shown)
    tab.emulate_media(media="print", color_scheme="dark")
    assert tab.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert tab.evaluate("getComputedStyle(document.querySelector('h1')).color") == "rgb(0, 0, 0)"
    for part in ("nav", "main button", "main form", ".bar", ".skip"):
        assert all(not one.is_visible() for one in tab.query_selector_all(part)), part
    clipped = (
        "all => all.filter(one => one.scrollWidth > one.clientWidth + 1"
        " && getComputedStyle(one).overflowX !== 'visible')"
    )
    assert tab.eval_on_selector_all(".scroll", f"all => ({clipped})(all).length") == 0
    if kept := os.environ.get("JOINTLAB_SCREENSHOTS"):
        tab.set_viewport_size({"width": 760, "height": 1000})
        tab.screenshot(path=Path(kept) / f"{name}-paper.png", full_page=True)


def test_nothing_moves_where_less_motion_is_asked_for(tab, address):
    tab.goto(f"{address}/")
    moving = (
        "[...document.querySelectorAll('*')].filter(one => parseFloat(getComputedStyle(one).transitionDuration) > 0"
        " || getComputedStyle(one).animationName !== 'none').length"
    )
    assert tab.evaluate(moving) == 0
    tab.emulate_media(reduced_motion="no-preference")
    assert tab.evaluate(moving) > 0


@pytest.mark.parametrize("name", WEIGHED)
def test_a_page_weighs_less_than_200_kb_without_its_figures(tab, address, name):
    weights = {}

    def weigh(response):
        kind = response.headers.get("content-type", "")
        if (
            response.status == 200
            and "/photos/" not in response.url
            and not ("svg" in kind and "/static/" not in response.url)
        ):
            weights[response.url] = len(response.body())

    tab.on("response", weigh)
    path, shown = STATES[name]
    tab.goto(address + path)
    tab.wait_for_selector(shown)
    tab.wait_for_load_state("networkidle")
    print(f"{name}: {sum(weights.values()) / 1000:.0f} kB")
    assert 20_000 < sum(weights.values()) < 200_000


def test_long_work_shows_how_far_it_is_can_be_left_and_is_there_on_return(tab, address, monkeypatch):
    go_on, begun = threading.Event(), threading.Event()
    strengths_of = workflow.strengths_of

    def slowly(pulls, *, progress, **more):
        for _ in progress(("a", "b", "c"), "combinations"):
            begun.set()
            go_on.wait(60)
        return strengths_of(pulls, **more)

    monkeypatch.setattr(workflow, "strengths_of", slowly)
    tab.goto(f"{address}/strength?batch=Y2")
    tab.wait_for_selector("#working progress")
    assert "0 of 3 done" in tab.inner_text("#working")
    assert "You can leave this page" in tab.inner_text("#working")
    looked_at(tab, "strength-working")
    tab.goto(f"{address}/pulls")
    go_on.set()
    monkeypatch.undo()
    tab.goto(f"{address}/strength?batch=Y2")
    tab.wait_for_selector("#answer table")
    assert begun.is_set()
