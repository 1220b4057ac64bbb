"""The same answers as the command line, and no request that ends in a fault."""

import json
import tomllib
from pathlib import Path

import pytest

from jointlab.app.cli import main

DEMO = Path(__file__).parents[3] / "datasets" / "demo"
MOUNT = DEMO / "mounts" / "bowl_on_maple.toml"


@pytest.fixture
def filled(door):
    token = door.client.get("/api/token").json()["token"]
    door.client.headers["x-jointlab-token"] = token
    answer = door.client.post("/api/import", content=(DEMO / "pulls.csv").read_bytes())
    assert answer.json() == {"schema": 1, "stored": 64, "skipped": 0}
    return door


def printed(capsys, *words):
    capsys.readouterr()
    main([*words, "--json"])
    return json.loads(capsys.readouterr().out)


def test_pulls_strengths_and_the_demand_are_the_command_lines_to_the_last_digit(filled, capsys):
    book = ("--book", filled.shop.place)
    assert filled.client.get("/api/pulls").json() == printed(capsys, "pulls", *book)
    chosen = {"glue": "hot melt", "confidence": 0.9}
    words = ("strength", "--glue", "hot melt", "--confidence", "0.9", *book)
    assert filled.client.get("/api/strength", params=chosen).json() == printed(capsys, *words)
    mount = {"mount": tomllib.loads(MOUNT.read_text())}
    assert filled.client.post("/api/mount", json=mount).json() == printed(capsys, "mount", str(MOUNT))


def test_the_verdict_is_the_command_lines_to_the_last_digit(filled, capsys):
    asked = {"mount": tomllib.loads(MOUNT.read_text()), "name": "bowl_on_maple"}
    told = filled.client.post("/api/decide", json=asked).json()
    assert told == printed(capsys, "decide", str(MOUNT), "--book", filled.shop.place)
    assert told["verdict"] == "pass"


def test_problems_come_as_the_command_line_tells_them(filled):
    answer = filled.client.post("/api/pulls", json={"cells": {"batch": "Q", "load_n": "x"}})
    assert answer.status_code == 422
    told = answer.json()
    assert (told["schema"], told["error"]["kind"]) == (1, "input")
    assert {"load_n", "specimen"} <= {problem["column"] for problem in told["error"]["problems"]}
    assert filled.client.get("/api/plans/none").status_code == 404
    assert filled.client.post("/api/pulls", content=b"{").status_code == 422


def test_a_pull_recorded_corrected_and_left_out(filled):
    cells = {
        "batch": "J", "specimen": "1", "tested_on": "2026-03-14", "glue": "pva", "substrate": "maple", "action": "pry",
        "shape": "disc", "diameter_mm": "50", "arm_mm": "300", "load_kgf": "12.5", "outcome": "broke",
    }  # fmt: skip
    first = filled.client.post("/api/pulls", json={"cells": cells}).json()["pulls"][0]
    assert filled.client.post("/api/pulls", json={"cells": cells}).json()["pulls"][0] == first
    path = f"/api/pulls/{first['id']}"
    changed = filled.client.post(f"{path}/correct", json={"cells": {"load_n": "130"}, "reason": "misread"})
    assert changed.json()["pulls"][0]["load_n"] == 130.0
    left_out = filled.client.post(f"{path}/exclude", json={"cause": "slipped"}).json()["pulls"][0]
    assert (left_out["revision"], left_out["excluded_because"]) == (3, "slipped")


@pytest.mark.parametrize("path", ["/api/mount", "/api/decide"])
@pytest.mark.parametrize("body", ['{"mount":{"lathe":{"rpm":"\\ud800"}}}', '{"mount":{"\\udcff":1}}'])
def test_half_a_character_in_a_document_is_answered_and_never_a_fault(door, path, body):
    door.get("/")
    answer = door.client.post(
        path, content=body, headers={"x-jointlab-token": door.token, "content-type": "application/json"}
    )
    assert answer.status_code == 422
    assert any("\\u" in f"{each['column']}{each['value']}" for each in answer.json()["error"]["problems"])


def test_an_import_may_name_the_shop_that_made_the_pulls(door):
    door.client.headers["x-jointlab-token"] = door.client.get("/api/token").json()["token"]
    answer = door.client.post("/api/import?shop=North", content=(DEMO / "pulls.csv").read_bytes())
    assert answer.json() == {"schema": 1, "stored": 64, "skipped": 0}
    assert all(pull["batch"].endswith("(North)") for pull in door.client.get("/api/pulls").json()["pulls"])
