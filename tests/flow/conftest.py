"""One browser for all tests in it, tabs that note what a page complains of, and servers over books of their own."""

from __future__ import annotations

import shutil
import threading
from contextlib import ExitStack

import pytest

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--host-resolver-rules=MAP shop.test 127.0.0.1, MAP evil.test 127.0.0.1",
]  # fmt: skip
"""The two names stand for a computer of the shop's network, and for a foreign name that was pointed here."""


@pytest.fixture(scope="session")
def browser():
    """The system's Chromium, without a window."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def tab(browser, request):
    """A page as on a phone, or as wide as the test's parameter says; ``complaints`` is what its console says."""
    width = getattr(request, "param", 360)
    context = browser.new_context(
        viewport={"width": width, "height": 800}, reduced_motion="reduce", locale="en-US", accept_downloads=True
    )
    opened = context.new_page()
    opened.set_default_timeout(120_000)
    opened.complaints = []
    opened.on("filechooser", lambda _: None)  # so that choosers are caught all the time, not only while one is awaited
    opened.on("console", lambda message: opened.complaints.append(message.text))
    opened.on("pageerror", lambda error: opened.complaints.append(str(error)))
    yield opened
    context.close()


@pytest.fixture(scope="session")
def serve():
    """Serves a book at a port of its own until the tests end; gives the address."""
    from jointlab.app.web import serving
    from jointlab.app.web.shop import Shop

    with ExitStack() as open_listeners:

        def begin(place, **more):
            listener, port = open_listeners.enter_context(serving.listening("127.0.0.1", 0))
            shop = Shop(place=str(place), **more)
            threading.Thread(target=serving.run, args=(shop, listener), daemon=True).start()
            return f"http://127.0.0.1:{port}"

        yield begin
