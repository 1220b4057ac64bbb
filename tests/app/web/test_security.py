"""What a foreign page, a foreign name, a stranger and a fault get: nothing."""

from importlib import import_module

import pytest

from jointlab.app import workflow
from jointlab.app.web import json_door, security
from jointlab.app.web.application import PAGES as PAGE_MODULES
from jointlab.book.book import Book

PAGES = ["/", "/pulls", "/pulls/1", "/import", "/pulls/export.csv", "/api/pulls", "/api/openapi.json", "/token"]
WRITING = ["/", "/pulls/1/correct", "/pulls/1/exclude", "/pulls/1/photo", "/import", "/import/store", "/bench/stress"]
WRITING_JSON = [
    "/api/pulls",
    "/api/pulls/1/correct",
    "/api/pulls/1/exclude",
    "/api/import",
    "/api/mount",
    "/api/decide",
]


@pytest.fixture
def filled(door):
    assert door.record().headers["x-jointlab-outcome"] == "stored"
    return door


def count(door):
    with Book.open(door.shop.place) as book:
        return len(book.pulls())


@pytest.mark.parametrize("host", ["evil.example", "testserver.evil.example", "", "127.0.0.1.evil.example:80"])
@pytest.mark.parametrize("path", PAGES)
def test_a_foreign_name_pointed_at_this_server_reads_nothing(filled, path, host):
    answer = filled.client.get(path, headers={"host": host})
    assert answer.status_code == 421
    assert "maple" not in answer.text


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.example"}, {"origin": "null"}, {"origin": "https://testserver"},
     {"origin": "http://testserver:81"}, {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"}],
)  # fmt: skip
@pytest.mark.parametrize("path", WRITING)
def test_a_page_of_another_origin_writes_nothing_even_with_the_token(filled, path, headers):
    answer = filled.post(path, {"batch": "B", "reason": "x", "cause": "x"}, headers=headers)
    assert answer.status_code == 403
    assert count(filled) == 1


@pytest.mark.parametrize("token", [None, "", "0" * 64, "é"])
@pytest.mark.parametrize("path", WRITING + WRITING_JSON)
def test_no_write_passes_without_the_token_of_the_visit(filled, path, token):
    fields = {} if token is None else {"token": token}
    answer = filled.client.post(path, data=fields)
    assert answer.status_code == 403
    answer = filled.client.post(path, json={"cells": {}, "cause": "x", "mount": {}})
    assert answer.status_code == 403
    assert count(filled) == 1


def test_the_token_of_one_visit_is_worthless_in_another(filled):
    other = {"cookie": f"{security.VISIT}={'x' * 32}"}
    filled.client.cookies.clear()
    assert (
        filled.client.post("/pulls/1/exclude", data={"token": filled.token, "cause": "x"}, headers=other).status_code
        == 403
    )


def test_every_route_that_writes_is_behind_the_token(door):
    routers = [import_module(f"jointlab.app.web.pages.{name}").router for name in PAGE_MODULES] + [json_door.router]
    routes = [route for router in routers for route in router.routes]
    writing = {route.path for route in routes if route.methods - security.READING}
    known = {path.replace("/1/", "/{pull_id}/") for path in WRITING + WRITING_JSON} | {"/pair/{word}"}
    assert {"/", "/pulls/{pull_id}/correct"} <= writing
    for path in writing - known:
        answer = door.client.post(path.replace("{", "").replace("}", ""))
        assert answer.status_code == 403, path


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
