"""What a foreign page, a foreign name, a stranger and a fault get: nothing."""

import pytest

from jointlab.app import workflow
from jointlab.app.web import security
from jointlab.app.web.application import make_app
from jointlab.app.web.pairing import Pairing
from jointlab.app.web.shop import Shop
from jointlab.book.book import Book

IN_PLACE = {
    "pull_id": "1", "photo_id": "1", "number": "1", "word": "x", "drawing": "effects", "name": "bowl", "key": "x",
}  # fmt: skip
"""What stands in the place of each part of a path that varies."""

DOOR = "/pair/{word}"
"""The one path that writes without a token: its word is one."""


def routes():
    """Method and path of everything the application answers, by its own table: a new route is in it."""
    guard = make_app(Shop(place="never opened", names=frozenset({"testserver"})))
    found = [("GET", "/static/shop.css")]
    for route in guard.application.state.table:
        path = route.path
        for name in route.param_convertors:
            path = path.replace(f"{{{name}}}", IN_PLACE[name])
        found += [(method, path) for method in sorted(route.methods - {"HEAD"})]
    return tuple(found)


ROUTES = routes()
READING = tuple(path for method, path in ROUTES if method in security.READING)
WRITING = tuple(path for method, path in ROUTES if method not in security.READING)
FOREIGN_NAMES = ("evil.example", "testserver.evil.example", "", "127.0.0.1.evil.example:80", "testserver@evil.example")
FOREIGN_PAGES = (
    {"origin": "http://evil.example"}, {"origin": "null"}, {"origin": "https://testserver"},
    {"origin": "http://testserver:81"}, {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"},
)  # fmt: skip


def test_the_table_of_routes_is_the_whole_application():
    assert {"/", "/rigs", "/mounts/one", "/plan/kept", "/strength/plot-1.svg", "/api/pulls", "/photos/1"} <= set(
        READING
    )
    assert {"/", "/rigs/check", "/mounts/event", "/plan/keep", "/publish", "/api/pool", "/pulls/1/photo"} <= set(
        WRITING
    )
    assert "/static/shop.css" in READING
    assert "/api/openapi.json" in READING
    assert len(READING) >= 40
    assert len(WRITING) >= 25


@pytest.fixture
def filled(door):
    assert door.record().headers["x-jointlab-outcome"] == "stored"
    return door


def count(door):
    with Book.open(door.shop.place) as book:
        return len(book.pulls())


@pytest.mark.parametrize("host", FOREIGN_NAMES)
def test_a_foreign_name_pointed_at_this_server_reaches_no_route(filled, host):
    for method, path in ROUTES:
        answer = filled.client.request(method, path, headers={"host": host})
        assert answer.status_code == 421, (method, path)
        assert "maple" not in answer.text, (method, path)
    assert count(filled) == 1


@pytest.mark.parametrize("headers", FOREIGN_PAGES)
def test_a_page_of_another_origin_writes_nothing_even_with_the_token(filled, headers):
    fields = {"batch": "B", "reason": "x", "cause": "x"}
    for path in WRITING:
        brought = headers | {security.TOKEN_HEADER: filled.token}
        assert filled.post(path, fields, headers=headers).status_code == 403, path
        assert filled.client.post(path, json={"cells": {}}, headers=brought).status_code == 403, path
    assert count(filled) == 1


def test_a_page_of_another_origin_is_nowhere_told_that_it_may_read(filled):
    asks = {"origin": "http://evil.example", "access-control-request-method": "GET"}
    for path in dict.fromkeys(READING + WRITING):
        answer = filled.client.options(path, headers=asks)
        assert answer.status_code in (403, 404, 405), path
        assert not [name for name in answer.headers if name.startswith("access-control-")], path
        assert answer.headers["cross-origin-resource-policy"] == "same-origin", path
    plain = filled.client.get("/pulls", headers={"origin": "http://evil.example"})
    assert not [name for name in plain.headers if name.startswith("access-control-")]


@pytest.mark.parametrize("token", [None, "", "0" * 64, "é"])
def test_no_write_passes_without_the_token_of_the_visit(filled, token):
    fields = {} if token is None else {"token": token}
    for path in WRITING:
        if path == DOOR.replace("{word}", IN_PLACE["word"]):
            continue
        assert filled.client.post(path, data=fields).status_code == 403, path
        assert filled.client.post(path, json={"cells": {}, "cause": "x", "mount": {}}).status_code == 403, path
    assert count(filled) == 1


def test_the_unpaired_reach_nothing_but_the_door(opened, place):
    pairing = Pairing()
    door = opened(place, pairing=pairing)
    for method, path in ROUTES:
        if not path.startswith(security.OPEN_TO_ALL):
            answer = door.client.request(method, path)
            assert answer.status_code == 401, (method, path)
    assert door.client.get("/pair/another").status_code == 404
    assert door.client.post("/pair/x").status_code == 403


def test_the_token_of_one_visit_is_worthless_in_another(filled):
    other = {"cookie": f"{security.VISIT}={'x' * 32}"}
    filled.client.cookies.clear()
    assert (
        filled.client.post("/pulls/1/exclude", data={"token": filled.token, "cause": "x"}, headers=other).status_code
        == 403
    )


def test_every_answer_carries_the_strict_policy(door):
    for path in ("/", "/nothing", "/static/bench.js", "/api/token"):
        policy = door.get(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
    for text in (door.get("/").text, door.get("/import").text):
        assert "<script>" not in text
        assert " style=" not in text
        assert "http://" not in text
        assert "https://" not in text
        assert " onclick" not in text


def test_no_path_leads_out_of_the_package(door):
    for path in (
        "/static/../application.py",
        "/static/%2e%2e/application.py",
        "/static/..%2f..%2fshop.py",
        "/photos/../x",
    ):
        answer = door.client.get(path)
        assert answer.status_code in (404, 422)
        assert "import" not in answer.text


def test_more_than_the_limit_is_refused_before_it_is_read(door):
    answer = door.client.post("/", content=b"x", headers={"content-length": str(security.MOST_BYTES + 1)})
    assert answer.status_code == 413
    assert door.client.post("/", content=b"x", headers={"content-length": "-1"}).status_code == 413


def test_what_is_no_picture_is_refused_and_the_entry_kept_in_the_form(door):
    door.get("/")
    answer = door.client.post(
        "/", data={"token": door.token, "batch": "keepme"}, files={"photo": ("x.jpg", b"<svg onload=alert(1)>")}
    )
    assert answer.status_code == 422
    assert 'value="keepme"' in answer.text


def test_what_a_shop_writes_is_shown_as_text(door):
    hostile = "<script>alert(1)</script>"
    assert door.record(glue=hostile).headers["x-jointlab-outcome"] == "stored"
    for path in ("/", "/pulls", "/pulls/1", f"/pulls?glue={hostile}"):
        text = door.get(path).text
        assert hostile not in text
        assert "&lt;script&gt;" in text


@pytest.mark.parametrize("formula", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "'=1"])
def test_cells_that_a_spreadsheet_would_run_are_harmless_and_come_back_as_they_were(door, formula):
    door.record(glue=formula)
    text = door.get("/pulls/export.csv").text
    assert f"'{formula}" in text
    content = text.encode()
    from jointlab.record.csv_file import read_csv

    assert read_csv(content, name="x").pulls[0].joint.combination.glue == formula


def test_a_fault_tells_no_trace(door, monkeypatch):
    def fails(*_, **__):
        raise RuntimeError("secret detail")

    monkeypatch.setattr(workflow, "open_book", fails)
    for path in ("/pulls", "/api/pulls"):
        answer = door.client.get(path)
        assert answer.status_code == 500
        assert "secret" not in answer.text
        assert "Traceback" not in answer.text
        assert "content-security-policy" in answer.headers
