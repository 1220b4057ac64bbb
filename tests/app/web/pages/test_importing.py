"""A file is shown with everything that is wrong before anything is stored."""

import re
from pathlib import Path

from jointlab.app import rigging, workflow
from jointlab.book.book import Book
from jointlab.book.stored import PaperKind

DEMO = Path(__file__).parents[4] / "datasets" / "demo" / "pulls.csv"


def looked_at(door, content, name="pulls.csv"):
    door.get("/import")
    return door.client.post("/import", data={"token": door.token}, files={"file": (name, content)})


def test_a_good_file_is_previewed_then_stored_then_skipped(door):
    answer = looked_at(door, DEMO.read_bytes())
    assert "64 pulls, no problem found" in answer.text
    assert "There are no pulls yet" in door.get("/pulls").text
    content = re.search(r'name="content" value="([^"]+)"', answer.text)[1]
    assert "64 pulls stored" in door.post("/import/store", {"name": "pulls.csv", "content": content}).text
    assert "64 skipped" in door.post("/import/store", {"name": "pulls.csv", "content": content}).text


def test_every_problem_of_a_bad_file_is_listed_and_nothing_stored(door):
    rows = DEMO.read_text().splitlines()[:3]
    bad = "\n".join([rows[0], rows[1].replace("pry", "yank"), rows[2].replace("broke", "flew")])
    answer = looked_at(door, bad.encode())
    assert answer.status_code == 422
    assert "yank" in answer.text
    assert "flew" in answer.text


def test_a_row_that_differs_from_the_book_refuses_the_file(door):
    door.record(tested_on="2026-03-14")
    text = door.get("/pulls/export.csv").text.replace("pry", "pry").replace("300.0", "310.0")
    content = re.search(r'name="content" value="([^"]+)"', looked_at(door, text.encode()).text)[1]
    answer = door.post("/import/store", {"name": "x", "content": content})
    assert answer.status_code == 422
    assert "arm_mm" in answer.text


def test_what_did_not_arrive_whole_or_is_too_large_is_refused(door):
    assert door.post("/import/store", {"content": "*"}).status_code == 422
    assert looked_at(door, b"x" * 200_000).status_code == 422
    assert looked_at(door, b"x", name="a.xlsx").status_code == 422
    assert door.post("/import").status_code == 422


def stored(door, answer, **fields):
    hidden = dict(re.findall(r'name="(name|shop|content)" value="([^"]*)"', answer.text))
    return door.post("/import/store", hidden | fields)


def test_another_shops_pulls_are_marked_and_no_mount_passes_on_them(door, place):
    door.get("/import")
    fields, files = {"token": door.token, "shop": " North  Shop "}, {"file": ("theirs.csv", DEMO.read_bytes())}
    looked = door.client.post("/import", data=fields, files=files)
    assert "64 pulls of North Shop, no problem found" in looked.text
    assert "(North Shop), " in looked.text
    assert "no mount passes on them alone" in looked.text
    told = stored(door, looked).text
    assert "64 pulls of North Shop stored" in told
    assert "No mount passes on them" in told
    with Book.open(place) as book:
        assert all(kept.pull.batch.endswith("(North Shop)") for kept in book.pulls())
        assert [paper.key for paper in book.papers(PaperKind.SHOP)] == ["North Shop"]
    decided = workflow.decide_mount(place, DEMO.parent / "mounts" / "bowl_on_maple.toml")
    assert decided.verdict.verdict == "undecided"


def test_readings_of_a_rig_of_the_book_become_loads(door, place):
    rigging.keep_rig(place, "lever", {"kind": "lever", "ratio": "3"}, today="2026-03-14")
    rows = "\n".join(
        ["batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,arm_mm,reading_n,rig,outcome",
         "A,1,2026-03-14,pva,maple,pry,disc,50,300,40,lever,broke"]
    )  # fmt: skip
    looked = looked_at(door, rows.encode())
    assert "1 pull, no problem found" in looked.text
    assert "1 pull stored" in stored(door, looked).text
    with Book.open(place) as book:
        assert book.pulls()[0].pull.loading.load == 120.0
