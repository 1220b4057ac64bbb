"""Commands as a user types them, in this process."""

import json

import pytest

from jointlab.app.cli import main, reordered

HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_kgf,arm_mm,outcome"
LOADS = {"A": [12.5, 13.1, 11.9, 12.2, 14.0], "B": [13.4, 12.8, 12.0, 13.9, 12.6]}


def rows():
    return [
        f"{batch},{number},2026-03-14,white glue,maple,pry,disc,50,{load},300,broke"
        for batch, loads in LOADS.items()
        for number, load in enumerate(loads, start=1)
    ]


@pytest.fixture
def book(tmp_path):
    return str(tmp_path / "shop.db")


@pytest.fixture
def filled(book, tmp_path, capsys):
    file = tmp_path / "pulls.csv"
    file.write_text("\n".join([HEADER, *rows()]) + "\n", encoding="utf-8")
    assert main(["import", str(file), "--book", book]) == 0
    capsys.readouterr()
    return book


def answer(capsys, *words):
    code = main([*words, "--json"])
    out = capsys.readouterr().out
    return code, json.loads(out)


def test_leading_options_are_moved_behind_the_command():
    assert reordered(["--book", "b.db", "--json", "pulls", "--glue", "x"]) == [
        "pulls", "--glue", "x", "--book", "b.db", "--json",
    ]  # fmt: skip
    assert reordered(["--help"]) == ["--help"]


def test_an_import_tells_what_it_stored_and_skips_it_the_second_time(book, tmp_path, capsys):
    file = tmp_path / "pulls.csv"
    file.write_text("\n".join([HEADER, *rows()]) + "\n", encoding="utf-8")
    assert answer(capsys, "import", str(file), "--book", book) == (0, {"schema": 1, "stored": 10, "skipped": 0})
    assert answer(capsys, "import", str(file), "--book", book) == (0, {"schema": 1, "stored": 0, "skipped": 10})


def test_a_bad_file_stores_nothing_and_lists_every_problem(book, tmp_path, capsys):
    file = tmp_path / "pulls.csv"
    good, bad = rows()[0], rows()[1].replace("disc,50", "disc,-50").replace(",pry,", ",pri,")
    file.write_text("\n".join([HEADER, good, bad]) + "\n", encoding="utf-8")
    code, told = answer(capsys, "import", str(file), "--book", book)
    assert code == 2
    assert told["schema"] == 1
    assert told["error"]["kind"] == "input"
    assert {(p["row"], p["column"], p["value"]) for p in told["error"]["problems"]} == {
        (3, "diameter_mm", "-50"),
        (3, "action", "pri"),
    }
    assert answer(capsys, "pulls", "--book", book)[1]["pulls"] == []


def test_a_pull_shows_every_column_and_its_stress(filled, capsys):
    code, told = answer(capsys, "pulls", "--book", filled)
    assert code == 0
    first = told["pulls"][0]
    assert first["load_n"] == pytest.approx(12.5 * 9.80665)
    assert first["torque_nm"] is None
    assert first["stress_mpa"]["lower"] == first["stress_mpa"]["upper"] == pytest.approx(2.9967, abs=5e-4)
    assert first["stress_u_mpa"] > 0
    assert first["findings"] == []


def test_filters_match_without_case(filled, capsys):
    assert len(answer(capsys, "pulls", "--glue", "WHITE  glue", "--book", filled)[1]["pulls"]) == 10
    assert answer(capsys, "pulls", "--glue", "epoxy", "--book", filled)[1]["pulls"] == []


def test_strength_answers_in_the_keys_of_the_contract(filled, capsys):
    code, told = answer(capsys, "strength", "--book", filled)
    assert code == 0
    (found,) = told["combinations"]
    assert (found["n"], found["n_broke"], found["n_held"], found["batches"]) == (10, 10, 0, 2)
    assert {fit["family"] for fit in found["families"]} == {"normal", "lognormal", "weibull", "gumbel_min"}
    assert set(found["working_bound"]) == {"bound_mpa", "upper_mpa", "method", "coverage", "confidence"}
    assert {"noncentral_t", "hanson_koopmans", "known_ratio", "order_statistic", "success_run"} <= {
        bound["method"] for bound in found["bounds"]
    }
    assert 0 < found["working_bound"]["bound_mpa"] < 2.9


def test_more_confidence_relies_on_less(filled, capsys):
    usual = answer(capsys, "strength", "--book", filled)[1]["combinations"][0]["working_bound"]["bound_mpa"]
    surer = answer(capsys, "strength", "--confidence", "0.99", "--book", filled)[1]["combinations"][0]
    assert surer["working_bound"]["bound_mpa"] < usual


def test_strength_without_any_bound_exits_4_and_still_prints(book, tmp_path, capsys):
    file = tmp_path / "pulls.csv"
    file.write_text("\n".join([HEADER, *(row.replace("broke", "held") for row in rows())]) + "\n", encoding="utf-8")
    main(["import", str(file), "--book", book])
    capsys.readouterr()
    code, told = answer(capsys, "strength", "--book", book)
    assert code == 4
    assert told["combinations"][0]["working_bound"]["bound_mpa"] is None


def test_exclusion_is_kept_shown_and_not_counted(filled, capsys):
    assert main(["pulls", "exclude", "1", "--cause", "wrong glue", "--book", filled]) == 0
    capsys.readouterr()
    pulls = answer(capsys, "pulls", "--book", filled)[1]["pulls"]
    assert pulls[0]["excluded_because"] == "wrong glue"
    assert pulls[0]["revision"] == 2
    assert answer(capsys, "strength", "--book", filled)[1]["combinations"][0]["n"] == 9


def test_a_correction_needs_a_reason_and_shows_in_the_history(filled, capsys):
    assert main(["pulls", "correct", "1", "--load_kgf", "13", "--book", filled]) == 2
    assert main(["pulls", "correct", "1", "--load_kgf", "13", "--reason", "misread", "--book", filled]) == 0
    capsys.readouterr()
    assert main(["pulls", "history", "1", "--book", filled]) == 0
    shown = capsys.readouterr().out
    assert "misread" in shown
    assert "load_n" in shown


def test_an_unknown_pull_exits_3(filled, capsys):
    code, told = answer(capsys, "pulls", "exclude", "999", "--cause", "x", "--book", filled)
    assert code == 3
    assert told["error"]["kind"] == "book"


def test_usage_errors_exit_2_and_are_json_when_asked(capsys):
    code, told = answer(capsys, "strength", "--coverage", "much")
    assert code == 2
    assert told["error"]["kind"] == "usage"
    assert main(["no-such-command"]) == 2


def test_exported_pulls_import_into_another_book_the_same(filled, tmp_path, capsys):
    file, other = tmp_path / "out.csv", str(tmp_path / "other.db")
    assert main(["export", str(file), "--book", filled]) == 0
    assert main(["import", str(file), "--book", other]) == 0
    capsys.readouterr()
    first = answer(capsys, "pulls", "--book", filled)[1]["pulls"]
    assert answer(capsys, "pulls", "--book", other)[1]["pulls"] == first


def test_no_spreadsheet_is_pretended(filled, tmp_path, capsys):
    sheet = tmp_path / "out.ods"
    assert main(["export", str(sheet), "--book", filled]) == 2
    assert not sheet.exists()
    assert ".csv or .xlsx" in capsys.readouterr().err


def test_a_workbook_goes_out_and_comes_in_to_the_same_pulls(filled, tmp_path, capsys):
    sheet = tmp_path / "out.xlsx"
    assert main(["export", str(sheet), "--book", filled]) == 0
    assert main(["import", str(sheet), "--book", filled, "--json"]) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[-1]) == {"schema": 1, "stored": 0, "skipped": 10}


def test_a_preview_says_what_would_come_in_and_stores_nothing(tmp_path, capsys):
    table, book = tmp_path / "start.csv", str(tmp_path / "shop.db")
    assert main(["export", str(table), "--template"]) == 0
    assert main(["export", str(table), "--template"]) == 2  # written over by none
    assert main(["import", str(table), "--preview"]) == 0
    assert "4 pulls could come in; nothing was stored" in capsys.readouterr().out
    assert main(["import", str(table), "--preview", "--json", "--book", book]) == 0
    assert json.loads(capsys.readouterr().out) == {"schema": 1, "could_come_in": 4, "skipped": 0}
    assert main(["import", str(table), "--preview", "--shop", "North", "--json", "--book", book]) == 0
    assert json.loads(capsys.readouterr().out)["could_come_in"] == 4
    assert not (tmp_path / "shop.db").exists()
    assert main(["pulls", "--book", book, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["pulls"] == []


def test_decimal_commas_are_read_when_said_so(tmp_path, capsys):
    table = tmp_path / "komma.csv"
    header = "batch;specimen;tested_on;glue;substrate;action;shape;diameter_mm;load_n;outcome"
    table.write_text(f"{header}\nA;1;2026-01-17;g;s;pull;disc;50,5;1500;broke\n", encoding="utf-8")
    assert main(["import", str(table), "--book", str(tmp_path / "shop.db")]) == 2
    assert main(["import", str(table), "--book", str(tmp_path / "shop.db"), "--decimal", "comma"]) == 0
    assert main(["import", str(table), "--preview", "--decimal", "dot"]) == 2
    assert "one of point, comma" in capsys.readouterr().err


def test_backup_and_check(filled, tmp_path, capsys):
    copy = tmp_path / "copy.db"
    assert main(["backup", str(copy), "--book", filled]) == 0
    assert main(["check", "--book", str(copy)]) == 0
    assert "10 pulls" in capsys.readouterr().out
    assert main(["backup", str(copy), "--book", filled]) == 3


def test_a_backup_is_restored_whole_and_never_over_a_book(filled, tmp_path, capsys):
    copy, again = tmp_path / "copy.db", str(tmp_path / "again.db")
    assert main(["backup", str(copy), "--book", filled]) == 0
    assert main(["restore", str(copy), "--book", again]) == 0
    assert "10 pulls" in capsys.readouterr().out
    assert answer(capsys, "pulls", "--book", again) == answer(capsys, "pulls", "--book", filled)
    assert main(["restore", str(copy), "--book", again]) == 3
    assert main(["restore", str(tmp_path / "none.db"), "--book", str(tmp_path / "new.db")]) in (2, 3)


def test_the_plot_is_an_image(filled, tmp_path):
    figure = tmp_path / "strengths.svg"
    assert main(["strength", "--plot", str(figure), "--book", filled]) == 0
    assert figure.read_text(encoding="utf-8").startswith("<?xml")
    assert main(["strength", "--plot", str(tmp_path / "strengths.doc"), "--book", filled]) == 2


def test_the_columns_are_listed_as_flags(capsys):
    assert main(["record", "--columns"]) == 0
    shown = capsys.readouterr().out
    assert "--load_n --load_kn --load_kgf" in shown
    assert "pull | pry | shear | twist" in shown


def test_what_a_shop_wrote_is_never_read_as_markup(book, tmp_path, capsys):
    file = tmp_path / "pulls.csv"
    file.write_text(
        "\n".join([HEADER, rows()[0].replace("white glue", "[red]white[/red] glue")]) + "\n", encoding="utf-8"
    )
    main(["import", str(file), "--book", book])
    capsys.readouterr()
    assert main(["pulls", "--book", book]) == 0
    assert "[red]white[/red]" in capsys.readouterr().out.replace("\n", "")


FACE = "angle_deg,radius_mm,thickness_mm\n" + "".join(
    f"{angle},70,{38.0 + 0.25 * height}\n" for angle, height in zip((0, 90, 180, 270), (1, 0, -1, 0), strict=True)
)


def test_runout_tells_tilt_and_warp_apart(tmp_path, capsys):
    file = tmp_path / "face.csv"
    file.write_text(FACE, encoding="utf-8")
    code, told = answer(capsys, "runout", str(file), "--blank_diameter_mm", "280")
    assert code == 0
    # a plane of 0.25 mm over 70 mm: 0.5 mm across the readings, 1 mm across a rim of 280 mm (derived)
    assert told["tilt_mm"] == pytest.approx(0.5)
    assert told["warp_mm"] == pytest.approx(0.0, abs=1e-9)
    assert told["wobble_mm"] == pytest.approx(1.0)
    assert "face_tilted" in {finding["code"] for finding in told["findings"]}
    assert main(["runout", str(file)]) == 0
    assert "Tilt 0.50 mm" in capsys.readouterr().out


def test_runout_read_again_tells_what_changed_and_draws_both(tmp_path, capsys):
    first, again, figure = (tmp_path / name for name in ("first.csv", "again.csv", "face.svg"))
    first.write_text(FACE, encoding="utf-8")
    again.write_text(FACE.replace("38.25", "38.75").replace("37.75", "37.25"), encoding="utf-8")
    words = ("runout", str(first), "--after", str(again), "--stage", "roughing")
    code, told = answer(capsys, *words, "--plot", str(figure))
    assert code == 0
    # the lean grows from 0.25 to 0.75 mm over 70 mm: by 1 mm across (derived)
    assert (told["tilt_mm"], told["again"]["tilt_mm"]) == pytest.approx((0.5, 1.5))
    assert (told["change"]["grown_mm"], told["change"]["moved_mm"]) == pytest.approx((1.0, 1.0))
    assert [finding["code"] for finding in told["change"]["findings"]] == ["runout_grew"]
    assert b"<svg" in figure.read_bytes()
    assert main(list(words)) == 0
    out = capsys.readouterr().out
    assert "After roughing:" in out
    assert "The runout has grown by 1.00 mm, from 0.50 to 1.50 mm, since roughing" in out


def test_a_face_read_once_has_nothing_to_compare(tmp_path, capsys):
    file = tmp_path / "face.csv"
    file.write_text(FACE, encoding="utf-8")
    _, told = answer(capsys, "runout", str(file))
    assert (told["again"], told["change"]) == (None, None)


@pytest.mark.parametrize(
    "words",
    [
        ("--radius_mm", "-3"),
        ("--glue_family", "mud"),
        ("--stage", "roughing"),
        ("--stage", "lunch", "--after", "x.csv"),
        ("--plot", "face.pdf"),
    ],
)
def test_runout_refuses_what_cannot_be(words, tmp_path, capsys):
    file = tmp_path / "face.csv"
    file.write_text(FACE, encoding="utf-8")
    assert answer(capsys, "runout", str(file), *words)[0] == 2


MOUNT = """
[blank]
diameter_mm = 250
length_mm = 80
density_kg_m3 = 600
[joint]
glue = "white glue"
substrate = "maple"
shape = "disc"
diameter_mm = 120
age_h = 168
[block]
thickness_mm = 38
wood = "sugar maple"
[lathe]
rpm = 600
motor_w = 750
size = "midi"
"""


@pytest.mark.parametrize(
    ("words", "offset_mm"),
    [
        # derived: 4/(3 pi) x 5 % x 125 mm; 0.2 kg x 100 mm/2.356 kg; the same mass added; 0.25/70 x 125/38 x 125/3 mm
        (("--density_pct", "5"), 2.653),
        (("--missing", "0.2", "100"), 8.488),
        (("--added", "0.2", "100"), 8.488),
        (("--thickness", "face.csv"), 0.4895),
    ],
)
def test_the_balance_of_a_blank_moves_its_centre_of_mass(words, offset_mm, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "face.csv").write_text(FACE, encoding="utf-8")
    (tmp_path / "mount.toml").write_text(MOUNT, encoding="utf-8")
    measured = answer(capsys, "mount", "mount.toml", *words)[1]
    stated = answer(capsys, "mount", "mount.toml", "--set", f"blank.offset_mm={offset_mm}")[1]
    spin = [told["cases"][1]["moment_nmm"] for told in (measured, stated)]
    assert spin[0] == pytest.approx(spin[1], rel=2e-4)
    assert main(["mount", "mount.toml", *words]) == 0
    assert f"To keep it, write offset_mm = {offset_mm:.2g} in [blank]." in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [
        ("--density_pct", "0"),
        ("--missing", "0.2", "-1"),
        ("--added", "9", "120"),
        ("--added", "0.1", "120", "--density_pct", "3"),
    ],
)
def test_a_balance_that_cannot_be_is_refused(words, tmp_path, capsys):
    file = tmp_path / "mount.toml"
    file.write_text(MOUNT, encoding="utf-8")
    assert answer(capsys, "mount", str(file), *words)[0] == 2


def test_a_mount_tells_what_other_sizes_would_be_asked_and_draws_itself(tmp_path, capsys):
    file, figure = tmp_path / "mount.toml", tmp_path / "mount.svg"
    file.write_text(MOUNT, encoding="utf-8")
    assert main(["mount", str(file), "--envelope", "--plot", str(figure)]) == 0
    told = capsys.readouterr().out
    assert told.count("What a severe catch asks of the glue line if the ") == 3
    (own,) = [line.split() for line in told.splitlines() if line.startswith("      120 ")]
    severe = next(line.split() for line in told.splitlines() if line.startswith("catch_severe"))
    assert own[1:3] == severe[-2:]  # the mount as it is stands in its own envelope
    assert "e+" not in told
    assert b"<svg" in figure.read_bytes()
    assert main(["mount", str(file), "--plot", "mount.jpg"]) == 2


def test_a_target_grows_with_the_reach_and_shrinks_with_the_joint(tmp_path, capsys):
    file = tmp_path / "mount.toml"
    file.write_text(MOUNT, encoding="utf-8")
    usual = answer(capsys, "target", str(file))[1]
    assert usual["run_needed"] == 59  # survivors of a proof for 95 % at 95 %: common reference (1 - 0.95^59 > 0.95)
    near = answer(capsys, "target", str(file), "--set", "work.reach_mm=40")[1]
    large = answer(capsys, "target", str(file), "--set", "joint.diameter_mm=150")[1]
    assert near["hold_n"] < usual["hold_n"]
    assert large["hold_n"] < usual["hold_n"]
    assert main(["target", str(file), "--cap_kgf", "25"]) == 0
    assert "must hold" in capsys.readouterr().out
    assert main(["target", str(file), "--action", "twist"]) == 2


def test_a_long_list_comes_by_pages(filled, capsys):
    every = [pull["id"] for pull in answer(capsys, "pulls", "--book", filled)[1]["pulls"]]
    page = answer(capsys, "pulls", "--limit", "2", "--after", "1", "--book", filled)[1]["pulls"]
    assert [pull["id"] for pull in page] == every[1:3]
    assert main(["pulls", "--limit", "2", "--book", filled]) == 0
    assert "More may follow: --after 2" in capsys.readouterr().out
    assert main(["pulls", "--limit", "0", "--book", filled]) == 2


@pytest.mark.parametrize(
    "line",
    [
        ["pulls", "--glue", "\udcff"],
        ["plan", "show", "a\x00b"],
        ["rigs", "history", "\ud800"],
        ["decide", "\udce9.toml"],
        ["record", "--\udcff", "x"],
    ],
)
def test_words_that_are_no_text_are_refused_before_anything_is_opened(line, book, capsys):
    assert main([*line, "--book", book, "--json"]) == 2
    told = json.loads(capsys.readouterr().out)["error"]
    assert "is no UTF-8 text" in told["problems"][0]["message"]


@pytest.mark.parametrize("line", [["pulls", "history"], ["pulls", "exclude", "--cause", "x"]])
def test_a_number_beyond_what_a_book_counts_to_names_no_pull(line, filled, capsys):
    assert main([*line, "9" * 30, "--book", filled]) == 3
    assert "There is no pull 999" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("flag", "value", "told"), [("--title", "a\x01b", "one line"), ("--date", "tomorrow", "ISO date")]
)
def test_a_publication_that_could_not_be_headed_is_refused_before_the_work(flag, value, told, filled, tmp_path, capsys):
    assert main(["publish", str(tmp_path / "page"), flag, value, "--book", filled]) == 2
    assert told in capsys.readouterr().err
    assert not (tmp_path / "page").exists()


@pytest.mark.parametrize("flags", [["--coverage", "1e-300"], ["--confidence", "0.9999999999999999"]])
def test_shares_beyond_what_pulls_can_show_are_refused(flags, filled, capsys):
    assert main(["strength", *flags, "--book", filled]) == 2
    assert "from 0.01 to 0.9999" in capsys.readouterr().err


@pytest.mark.parametrize("share", ["0.01", "0.9999"])
def test_the_outermost_shares_are_worked_out(share, filled, capsys):
    assert main(["strength", "--coverage", share, "--confidence", share, "--book", filled, "--json"]) in (0, 4)
    assert json.loads(capsys.readouterr().out)["combinations"][0]["n"] == 10
