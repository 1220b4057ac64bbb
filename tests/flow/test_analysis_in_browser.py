"""The pages that answer questions, in a real browser: on a phone and on a desk, light and dark."""

import re
import shutil
import threading
import tomllib
from pathlib import Path

import pytest

from jointlab.app import workflow
from jointlab.app.web import serving
from jointlab.app.web.mount_state import state_of_document
from jointlab.app.web.shop import Shop

DEMO = Path(__file__).parents[2] / "datasets" / "demo"
STATE = state_of_document(tomllib.loads((DEMO / "mounts" / "bowl_on_maple.toml").read_text()), name="bowl")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
PAGES = {
    "/strength?batch=Y2": "#answer table",
    "/compare?glue=yellow+wood+glue": "#answer table",
    f"/mount?{STATE.query}": ".verdict",
    "/mount": "form",
    "/plan?combinations=pva+on+maple&expected_mpa=4&glued_from=2026-04-01&each=3": "#answer table",
    "/publish": "form",
    "/mounts": "h1",
}

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    place = tmp_path_factory.mktemp("browser") / "shop.db"
    workflow.import_file(place, DEMO / "pulls.csv")
    with serving.listening("127.0.0.1", 0) as (listener, port):
        threading.Thread(target=serving.run, args=(Shop(place=str(place)), listener), daemon=True).start()
        yield f"http://127.0.0.1:{port}"


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(params=[360, 1280])
def tab(browser, request):
    opened = browser.new_page(viewport={"width": request.param, "height": 800}, reduced_motion="reduce")
    opened.complaints = []
    opened.on("console", lambda message: opened.complaints.append(message.text))
    opened.on("pageerror", lambda error: opened.complaints.append(str(error)))
    yield opened
    opened.close()


@pytest.mark.parametrize("path", PAGES)
def test_no_accessibility_rule_is_broken_and_nothing_scrolls_sideways(tab, address, path):
    from axe_core_python.sync_playwright import Axe

    tab.goto(address + path)
    tab.wait_for_selector(PAGES[path], timeout=120_000)
    tab.evaluate("document.querySelectorAll('#answer details').forEach(one => { one.open = true })")
    assert tab.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    for scheme in ("light", "dark"):
        tab.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        found = Axe().run(tab)["violations"]
        assert [(one["id"], one["nodes"][0]["html"][:120]) for one in found] == []
    assert tab.complaints == []


@pytest.mark.parametrize("tab", [360], indirect=True)
def test_the_answer_and_the_address_follow_what_is_typed(tab, address):
    tab.goto(f"{address}/mount?{STATE.query}")
    before = tab.inner_text(".lead")
    tab.fill("[id='lathe.rpm']", "1400")
    tab.wait_for_url(re.compile(r"lathe\.rpm=1400"))
    tab.wait_for_function("before => document.querySelector('.lead').innerText !== before", arg=before)
    tab.click("text=Take this look down and decide")
    tab.wait_for_selector(".verdict:not(:has(button))")
    assert "lathe.rpm=1400" in tab.url
    assert tab.complaints == []
