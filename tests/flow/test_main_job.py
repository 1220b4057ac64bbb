"""CSV in, verdict and page out: by command line and in Python, the same numbers."""

import json
import re
import tomllib
from pathlib import Path

import pytest

import jointlab
from jointlab.app.cli import main

DEMO = Path(__file__).parents[2] / "datasets" / "demo"
MOUNTS = {"bowl_on_maple": ("pass", 0), "bowl_on_mdf": ("fail", 10), "dish_on_hot_melt": ("undecided", 11)}


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    place = str(tmp_path_factory.mktemp("book") / "shop.db")
    assert main(["import", str(DEMO / "pulls.csv"), "--book", place]) == 0
    return place


def decided(capsys, book, name, *settings):
    capsys.readouterr()
    words = [word for setting in settings for word in ("--set", setting)]
    code = main(["decide", str(DEMO / "mounts" / f"{name}.toml"), "--book", book, "--json", *words])
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("name", MOUNTS)
def test_three_mounts_give_a_pass_a_fail_and_an_undecided(name, book, capsys):
    verdict, code = MOUNTS[name]
    got, told = decided(capsys, book, name)
    assert (told["verdict"], got) == (verdict, code)


def test_decide_answers_in_the_keys_of_the_contract(book, capsys):
    _, told = decided(capsys, book, "bowl_on_maple")
    assert list(told) == [
        "schema", "verdict", "relaxed", "criteria", "margin_lower", "margin_upper", "margin_required", "governing_link",
        "governing_case", "stands_n", "links", "factors", "reasons", "would_settle", "scope", "cautions", "findings",
    ]  # fmt: skip
    assert set(told["criteria"]) == {"coverage", "confidence", "confidence_spent", "margin", "catch"}
    assert {link["basis"] for link in told["links"]} <= {"tests", "source", "unrated"}
    assert {frozenset(factor) for factor in told["factors"]} == {frozenset({"name", "value", "source"})}
    assert len(told["factors"]) == 18
    rated = [link["margin_lower"] for link in told["links"] if link["margin_lower"] is not None]
    assert told["margin_lower"] == min(rated)


def test_the_command_line_and_python_give_the_same_verdict(book, capsys):
    for name in MOUNTS:
        _, told = decided(capsys, book, name)
        setup = jointlab.mount_setup(DEMO / "mounts" / f"{name}.toml")
        verdict = jointlab.decide(setup, pulls=DEMO / "pulls.csv")
        assert verdict.margin_lower == told["margin_lower"]
        assert verdict.margin_upper == told["margin_upper"]
        assert verdict.stands_n == told["stands_n"]
        assert str(verdict.verdict) == told["verdict"]


def test_a_setting_changes_the_answer_and_is_relaxed_when_it_asks_less(book, capsys):
    _, usual = decided(capsys, book, "bowl_on_maple")
    _, reach = decided(capsys, book, "bowl_on_maple", "work.reach_mm=40")
    assert reach["stands_n"] > usual["stands_n"]
    code, light = decided(capsys, book, "bowl_on_maple", "criteria.catch=light")
    assert light["relaxed"] is True
    assert code == 0


RING = """
[[blank_joint]]
height_mm = 30
outer_mm = 200
inner_mm = {inner_mm}
glue = "yellow wood glue"
substrate = "{substrate}"
"""


@pytest.mark.parametrize(
    ("substrate", "basis", "outcome"), [("hard maple scrap", "tests", "pass"), ("walnut stave", "unrated", "undecided")]
)
def test_joints_inside_the_blank_are_rated_from_the_books_own_pulls(book, capsys, tmp_path, substrate, basis, outcome):
    plain = (DEMO / "mounts" / "bowl_on_maple.toml").read_text(encoding="utf-8")
    mount = tmp_path / "ringed.toml"
    mount.write_text(plain + RING.format(inner_mm=60, substrate=substrate), encoding="utf-8")
    capsys.readouterr()
    main(["decide", str(mount), "--book", book, "--json"])
    told = json.loads(capsys.readouterr().out)
    inside = {link["link"]: link for link in told["links"]}["blank_joint_1"]
    assert (inside["basis"], told["verdict"]) == (basis, outcome)
    assert (inside["margin_lower"] is None) == (basis == "unrated")
    verdict = jointlab.decide(jointlab.mount_setup(mount), pulls=DEMO / "pulls.csv")
    assert verdict.margin_lower == told["margin_lower"]


def test_every_way_out_that_changes_a_setting_holds_when_applied(book, capsys):
    tried = 0
    for name in MOUNTS:
        _, before = decided(capsys, book, name)
        for way in before["would_settle"]:
            if way["set"]:
                _, after = decided(capsys, book, name, *way["set"])
                tried += 1
                assert after["margin_lower"] >= after["margin_required"], way
    document = tomllib.loads((DEMO / "mounts" / "bowl_on_maple.toml").read_text(encoding="utf-8"))
    small = f"joint.diameter_mm={document['joint']['diameter_mm'] / 2}"
    _, before = decided(capsys, book, "bowl_on_maple", small)
    for way in before["would_settle"]:
        if way["set"]:
            _, after = decided(capsys, book, "bowl_on_maple", small, *way["set"])
            tried += 1
            assert after["margin_lower"] >= after["margin_required"], way
    assert tried >= 1


def test_an_unknown_combination_is_undecided_and_names_the_nearest(book, capsys):
    code, told = decided(capsys, book, "bowl_on_maple", 'joint.substrate="hard maple scrp"')
    assert (code, told["verdict"]) == (11, "undecided")
    (finding,) = [found for found in told["findings"] if found["code"] == "no_pulls"]
    assert "yellow wood glue on hard maple scrap" in finding["text"]


def test_a_mount_with_mistakes_is_told_all_of_them(tmp_path, book, capsys):
    file = tmp_path / "mount.toml"
    text = (DEMO / "mounts" / "bowl_on_maple.toml").read_text(encoding="utf-8")
    file.write_text(
        text.replace("rpm = 600", "rmp = 600").replace("thickness_mm = 38", "thickness_mm = -3"), encoding="utf-8"
    )
    assert main(["decide", str(file), "--book", book, "--json"]) == 2
    columns = {problem["column"] for problem in json.loads(capsys.readouterr().out)["error"]["problems"]}
    assert {"lathe.rmp", "lathe.rpm", "block.thickness_mm"} <= columns


def test_mount_answers_in_the_keys_of_the_contract(capsys):
    assert main(["mount", str(DEMO / "mounts" / "bowl_on_maple.toml"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [case["case"] for case in told["cases"]] == [
        "rest", "spin", "cut", "catch_light", "catch_firm", "catch_severe",
    ]  # fmt: skip
    assert {"glue_line", "screws"} <= {link["link"] for link in told["links"]}
    assert set(told["cases"][0]) == {
        "case", "moment_nmm", "shear_n", "torque_nmm", "axial_n", "tension_mpa", "shear_mpa",
    }  # fmt: skip


def test_the_page_carries_the_numbers_and_asks_nothing_of_a_network(book, tmp_path, capsys):
    words = ["publish", str(tmp_path / "page"), "--book", book, "--date", "2026-02-01"]
    for name in MOUNTS:
        words += ["--mount", str(DEMO / "mounts" / f"{name}.toml")]
    assert main(words) == 0
    page = (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    visible = re.sub(r"<svg.*?</svg>", "", page, flags=re.S)
    assert not re.search(r"""(src|href)=["']?(https?:)?//""", visible)
    assert "@import" not in visible
    _, told = decided(capsys, book, "bowl_on_maple")
    assert f"{told['margin_required']:g}" in visible
    assert main(words) == 2
    assert main([*words, "--replace"]) == 0


def test_the_notebook_reads_fits_and_bounds():
    frame = jointlab.read_pulls(DEMO / "pulls.csv")
    samples = jointlab.samples_of(frame)
    sample = samples["yellow wood glue", "hard maple scrap", "", "pry"]
    assert sample.batch_names == ("Y1", "Y2")
    fitted = jointlab.fit(sample, family=jointlab.Family.WEIBULL)
    assert dict(fitted.parameters)["shape"] > 1
    bound = jointlab.lower_bound(sample, coverage=0.95, confidence=0.95)
    assert 0 < bound.bound_mpa < sample.lower_mpa.min()


def test_other_sizes_are_told_drawn_and_published_when_asked(book, capsys, tmp_path):
    mount, figure = str(DEMO / "mounts" / "bowl_on_maple.toml"), tmp_path / "sizes.svg"
    assert main(["decide", mount, "--book", book, "--envelope", "--plot", str(figure)]) == 0
    told = capsys.readouterr().out
    for size in ("joint", "furthest cut", "blank"):
        assert f"If the {size} were otherwise (* above what the trade turns at)" in told
    assert b"<svg" in figure.read_bytes()
    assert main(["publish", str(tmp_path / "page"), "--book", book, "--mount", mount, "--envelope"]) == 0
    page = (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    assert page.count("were otherwise (* above what the trade turns at)</caption>") == 3
