"""Questions of the JSON door give the command line's answers to the last digit, and refuse what it refuses."""

import io
import json
import tomllib
import zipfile
from pathlib import Path

import pytest

from jointlab.app import mounting, rigging, workflow
from jointlab.app.cli import main

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "datasets" / "demo"
MOUNT = DEMO / "mounts" / "bowl_on_maple.toml"
FACE = "angle_deg,reading_mm\n0,0.1\n90,0.25\n180,0.4\n270,0.2\n45,0.2\n135,0.3\n"


@pytest.fixture
def asking(door):
    door.client.headers["x-jointlab-token"] = door.client.get("/api/token").json()["token"]
    return door


@pytest.fixture
def filled(asking):
    workflow.import_file(asking.shop.place, DEMO / "pulls.csv")
    return asking


@pytest.fixture
def printed(capsys):
    def command(*words):
        capsys.readouterr()
        main([*words, "--json"])
        return json.loads(capsys.readouterr().out)

    return command


def test_a_comparison(filled, printed):
    chosen = {"substrate": "hard maple scrap", "confidence": 0.9}
    told = filled.client.get("/api/compare", params=chosen).json()
    book = ("--book", filled.shop.place)
    assert told == printed("compare", "--substrate", "hard maple scrap", "--confidence", "0.9", *book)
    described = filled.client.get("/api/openapi.json").json()["paths"]["/api/compare"]["get"]["responses"]["200"]
    assert described["content"]["application/json"]["schema"] == {"$ref": "#/components/schemas/CompareDocument"}


def test_a_target_also_on_a_rig_of_the_book(asking, printed):
    place = asking.shop.place
    cells = {"kind": "bar_and_scale", "arm_mm": "250", "capacity_kgf": "40", "resolution_kgf": "0.1"}
    rigging.keep_rig(place, "bar", cells, today="2026-03-14")
    asked = {"mount": tomllib.loads(MOUNT.read_text()), "diameter_mm": 40, "cap_kgf": 20}
    told = asking.client.post("/api/target", json=asked).json()
    assert told == printed("target", str(MOUNT), "--diameter_mm", "40", "--cap_kgf", "20")
    on_rig = asking.client.post("/api/target", json=asked | {"rig": "bar"}).json()
    assert on_rig == printed("target", str(MOUNT), "--diameter_mm", "40", "--rig", "bar", "--book", place)
    assert on_rig["hold_n"] != told["hold_n"]
    assert asking.client.post("/api/target", json=asked | {"rig": "none"}).status_code == 404


def test_a_face_read_again(asking, printed, tmp_path):
    (tmp_path / "a.csv").write_text(FACE)
    (tmp_path / "b.csv").write_text(FACE.replace("0.4", "0.6"))
    asked = {"readings": FACE, "after": FACE.replace("0.4", "0.6"), "stage": "roughing", "radius_mm": 60}
    words = ("--after", str(tmp_path / "b.csv"), "--stage", "roughing", "--radius_mm", "60")
    told = asking.client.post("/api/runout", json=asked).json()
    assert told == printed("runout", str(tmp_path / "a.csv"), *words)
    assert told["change"] is not None
    assert asking.client.post("/api/runout", json={"readings": "x"}).status_code == 422


def test_a_plan_is_made_and_not_kept(asking, printed):
    asked = {"combinations": ["pva on maple"], "expected_mpa": 4, "glued_from": "2026-03-02", "each": 3, "seed": 7}
    words = ("--combination", "pva on maple", "--expected_mpa", "4", "--glued_from", "2026-03-02", "--each", "3")
    told = asking.client.post("/api/plan", json=asked).json()
    assert told == printed("plan", *words, "--seed", "7", "--book", asking.shop.place)
    assert asking.client.get("/api/plans").json()["plans"] == []
    assert asking.client.post("/api/plan", json=asked | {"glued_from": "soon"}).status_code == 422


def test_the_field_record(filled, printed):
    place = filled.shop.place
    mounting.start_mount(place, MOUNT, name="bowl")
    told = filled.client.get("/api/mounts").json()
    assert told == printed("mounts", "--book", place) == filled.client.get("/api/mounts/bowl").json()
    assert told["mounts"][0]["predicted"]["verdict"] == "pass"
    assert filled.client.get("/api/mounts/none").status_code == 404


def test_packages_of_shops(asking, printed, tmp_path):
    out = io.BytesIO()
    folder = ROOT / "reports" / "demo"
    with zipfile.ZipFile(out, "w") as files:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                files.write(path, path.relative_to(folder).as_posix())
    (tmp_path / "shop.zip").write_bytes(out.getvalue())
    sent = [("packages", ("..\\shop.zip", out.getvalue()))]
    told = asking.client.post("/api/pool?confidence=0.9", files=sent).json()
    assert told == printed("pool", str(tmp_path / "shop.zip"), "--confidence", "0.9")
    refused = asking.client.post("/api/pool", files=[("packages", ("a.zip", b"no zip"))])
    assert (refused.status_code, refused.json()["error"]["kind"]) == (422, "input")


@pytest.mark.parametrize("share", ["0.0001", "0.99999", "0.01", "0.9999"])
def test_shares_near_the_ends_are_answered_or_refused_alike_at_both_doors(filled, capsys, share):
    for name in ("coverage", "confidence"):
        chosen = {"glue": "yellow wood glue", "substrate": "hard maple scrap", name: share}
        answer = filled.client.get("/api/strength", params=chosen)
        capsys.readouterr()
        words = [word for key, value in chosen.items() for word in (f"--{key}", value)]
        code = main(["strength", *words, "--book", filled.shop.place, "--json"])
        told = json.loads(capsys.readouterr().out)
        if share in ("0.0001", "0.99999"):
            assert (answer.status_code, code) == (422, 2)
            assert told["error"]["kind"] == answer.json()["error"]["kind"] == "input"
        else:
            assert answer.status_code == 200
            assert answer.json() == told
