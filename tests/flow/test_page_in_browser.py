"""The published page in a real browser, on a phone and on a desk."""

from pathlib import Path

import pytest

PAGE = Path(__file__).parents[2] / "reports" / "demo" / "index.html"

pytestmark = pytest.mark.browser


@pytest.fixture(params=[360, 1280])
def page(tab, request):
    tab.set_viewport_size({"width": request.param, "height": 800})
    tab.asked = []
    tab.on("request", lambda asked: tab.asked.append(asked.url))
    tab.goto(PAGE.as_uri())
    return tab


def test_nothing_but_the_page_itself_is_asked_for(page):
    assert [url for url in page.asked if not url.startswith("data:")] == [PAGE.as_uri()]
    assert page.complaints == []


def test_the_page_never_scrolls_sideways(page):
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide == 0


def test_the_answer_is_seen_without_scrolling(page):
    top = page.evaluate("document.querySelector('.answer, [class*=answer]').getBoundingClientRect().top")
    assert 0 < top < 800


def test_text_stays_legible(page):
    smallest = page.evaluate(
        "Math.min(...[...document.querySelectorAll('p, li, td, th, figcaption')]"
        ".filter(one => one.offsetParent).map(one => parseFloat(getComputedStyle(one).fontSize)))"
    )
    assert smallest >= 12


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_accessibility_rule_is_broken(page, scheme):
    from axe_core_python.sync_playwright import Axe

    page.emulate_media(color_scheme=scheme)
    found = Axe().run(page)["violations"]
    assert [(one["id"], one["nodes"][0]["html"][:120]) for one in found] == []


def test_wide_tables_scroll_in_their_own_box_by_keyboard(page):
    boxes = page.evaluate(
        "[...document.querySelectorAll('table')].map(one => one.parentElement)"
        ".filter(box => box.scrollWidth > box.clientWidth).map(box => box.tabIndex)"
    )
    assert all(index == 0 for index in boxes)
