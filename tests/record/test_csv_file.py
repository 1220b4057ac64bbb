import pytest

from jointlab.errors import InputError
from jointlab.record.csv_file import Decimal, read_csv, streamed_csv, written_csv
from jointlab.record.finding import FindingCode
from jointlab.record.joint import Disc, Rectangle, Ring
from jointlab.record.vocabulary import Action, Outcome

HEADER = "batch,specimen,tested_on,glue,substrate,action,shape,diameter_mm,load_kgf,arm_mm,outcome"
ROW = "A,1,2026-03-14,white glue,maple,pry,disc,50,12.5,300,broke"


def read(text, name="pulls.csv"):
    return read_csv(text.encode("utf-8"), name=name)


def problems_of(text):
    with pytest.raises(InputError) as caught:
        read(text)
    return caught.value.problems


def one_problem_of(text):
    problems = problems_of(text)
    assert len(problems) == 1, problems
    return problems[0]


def test_a_row_becomes_a_pull_in_si():
    (pull,) = read(f"{HEADER}\n{ROW}\n").pulls
    assert pull.loading.load == pytest.approx(12.5 * 9.80665, rel=1e-15)
    assert pull.joint.outline == Disc(50.0)
    assert pull.action is Action.PRY
    assert dict(pull.entered) == {"diameter_mm": "50", "load_kgf": "12.5", "arm_mm": "300"}


def test_a_byte_order_mark_windows_lines_and_quotes_are_read():
    text = f'\ufeff{HEADER},notes\r\n{ROW},"late, cold, ""odd""\nsecond line"\r\n'
    (pull,) = read(text).pulls
    assert pull.notes == 'late, cold, "odd"\nsecond line'


def test_names_are_tidied_and_kept_in_their_case():
    (pull,) = read(f"{HEADER}\n{ROW.replace('white glue', '  White   glue ')}\n").pulls
    assert pull.joint.combination.glue == "White glue"
    assert pull.joint.combination.key == ("white glue", "maple", "")


def test_kilograms_as_force_are_said_back():
    found = read(f"{HEADER.replace('kgf', 'kg')}\n{ROW}\n")
    assert [finding.code for finding in found.findings] == [FindingCode.FORCE_UNIT_SAID_BACK]
    assert found.pulls[0].loading.load == pytest.approx(12.5 * 9.80665)


def test_cure_comes_from_the_dates_where_blank():
    header, row = f"{HEADER},glued_on", f"{ROW},2026-03-07"
    assert read(f"{header}\n{row}\n").pulls[0].conditions.cure_h == 168.0


def test_blank_shares_are_nothing_when_any_is_given():
    (pull,) = read(f"{HEADER},wood_pct,adhesive_pct\n{ROW},100,\n").pulls
    assert (pull.broke.wood_pct, pull.broke.adhesive_pct, pull.broke.paper_pct) == (100.0, 0.0, 0.0)


def test_empty_rows_are_passed_over_and_counted():
    found = read(f"{HEADER}\n\n{ROW}\n,,,,,,,,,,\n{ROW.replace('A,1', 'A,2')}\n")
    assert found.rows == (3, 5)


def test_written_pulls_read_back_the_same():
    text = (
        "batch,specimen,tested_on,glue,substrate,preparation,action,shape,diameter_in,hole_in,width_cm,depth_cm,"
        "load_lbf,torque_ftlbf,held_lbf,arm_in,outcome,cap_lbf,air_f,glued_on,wood_pct,notes\n"
        "A,1,2026-03-14T09:30,epoxy,birch ply,sanded,pry,ring,2.5,0.75,,,33.3,,22.2,12,step,110,68.5,2026-03-01,95,"
        '"a, b"\n'
        "A,2,2026-03-14,epoxy,birch ply,,shear,rectangle,,,2.5,3.1,700,,,,held,,,,,\n"
        "A,3,2026-03-14,epoxy,birch ply,,twist,disc,2,,,,,44.25,,,broke,,,,,\n"
    )
    with_share = text.replace(",95,", ",100,")
    first = read(with_share).pulls
    assert [type(pull.joint.outline) for pull in first] == [Ring, Rectangle, Disc]
    assert first[0].outcome is Outcome.STEP
    assert read(written_csv(first)).pulls == first


def test_all_bad_cells_of_a_file_are_told_at_once():
    first = "A,1,14.3.2026,white glue,maple,pri,disc,-50,12.5,300,broke"
    second = "A,2,2026-03-14,,maple,pry,disc,50,x,300,broke"
    told = {(problem.row, problem.column) for problem in problems_of(f"{HEADER}\n{first}\n{second}\n")}
    assert told == {(2, "tested_on"), (2, "action"), (2, "diameter_mm"), (3, "glue"), (3, "load_kgf")}


def test_a_problem_names_row_column_value_and_what_is_allowed():
    problem = one_problem_of(f"{HEADER}\n{ROW.replace('disc,50', 'disc,-12')}\n")
    assert (problem.row, problem.column, problem.value) == (2, "diameter_mm", "-12")
    assert problem.allowed == "greater than 0 and at most 10000 mm"
    assert str(problem) == "row 2, diameter_mm = '-12': must be greater than 0 and at most 10000 mm"


@pytest.mark.parametrize(
    "text", ["1,000", "1_000", "1,5", "nan", "inf", "-inf", "1.", ".5", "0x10", "1 000", "１２", "12kg", "--1"]
)
def test_a_number_has_one_form(text):
    problem = one_problem_of(f"{HEADER}\n{ROW.replace('12.5', chr(34) + text + chr(34))}\n")
    assert problem.column == "load_kgf"
    assert problem.value == text
    assert problem.message.startswith("must be a number such as 12.5")


@pytest.mark.parametrize("text", ["+12.5", "12", "1.25e1", "1250E-2", " 12.5 "])
def test_the_number_form_takes_signs_and_powers(text):
    assert read(f"{HEADER}\n{ROW.replace('12.5', text)}\n").pulls[0].loading.load == pytest.approx(
        12.5 * 9.80665, rel=0.05
    )


@pytest.mark.parametrize(
    ("change", "column", "words"),
    [
        (("pry,disc", "pull,disc"), "arm_mm", "belongs to a pry"),
        (("disc,50", "ring,50"), "hole_mm", "a ring needs hole"),
        (("disc,50", "rectangle,50"), "diameter_mm", "does not belong to a rectangle"),
        ((",300,", ",,"), "arm_mm", "needs the arm"),
        ((",12.5,", ",,"), "load_kgf", "is needed"),
        ((",12.5,", ",0,"), "load_kgf", "greater than 0"),
        ((",12.5,300,broke", ",,300,handled"), "load_kgf", "broke when handled"),
        (("12.5,300,broke", "12.5,300,step"), "held_n", "needs the last load held"),
        (("A,1", ",1"), "batch", "is needed"),
        (("2026-03-14", "2026-02-30"), "tested_on", "day"),
        (("2026-03-14", "20260314"), "tested_on", "ISO date"),
        (("pry,", "twist,"), "torque_nm", "is needed"),
    ],
)
def test_rules_between_cells_are_told_with_the_column(change, column, words):
    found = problems_of(f"{HEADER}\n{ROW.replace(*change)}\n")
    assert any(problem.column == column and words in problem.message for problem in found), found


def test_shares_must_sum_to_a_hundred_within_one():
    header = f"{HEADER},wood_pct,adhesive_pct"
    assert read(f"{header}\n{ROW},60,39\n").pulls
    problem = one_problem_of(f"{header}\n{ROW},60,30\n")
    assert "sum to 90" in problem.message


def test_a_step_must_hold_less_than_it_broke_at():
    header = HEADER.replace("outcome", "outcome,held_kgf")
    row = ROW.replace("broke", "step,12.5")
    assert one_problem_of(f"{header}\n{row}\n").column == "held_kgf"


def test_glued_after_tested_is_refused():
    assert one_problem_of(f"{HEADER},glued_on\n{ROW},2026-03-15\n").column == "glued_on"


@pytest.mark.parametrize(
    ("title", "words"),
    [
        ("diameter", "needs its unit"),
        ("load_stone", "that unit is not known"),
        ("load_mm", "that unit does not measure it"),
        ("Glue", "small letters"),
        ("substrat", "did you mean substrate"),
        ("reading_stone", "that unit is not known"),
        ("colour_of_apron", "is not a column"),
    ],
)
def test_an_unknown_column_is_an_error_that_helps(title, words):
    found = problems_of(f"{HEADER},{title}\n{ROW},1\n")
    assert found[0].row == 1
    assert words in found[0].message


def test_two_columns_of_one_quantity_are_refused():
    assert "already: keep one" in one_problem_of(f"{HEADER},load_n\n{ROW},122\n").message


def test_a_batch_names_a_specimen_once_without_case():
    problem = one_problem_of(f"{HEADER}\n{ROW}\n{ROW.replace('A,1', 'a,1')}\n")
    assert (problem.row, problem.column) == (3, "specimen")
    assert "row 2" in problem.message


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"\n\n", "is empty"),
        (HEADER.encode() + b"\n", "no pulls"),
        (HEADER.replace(",", ";").encode() + b"\n", "semicolons"),
        (f"{HEADER}\n{ROW}".encode("utf-16"), "UTF-8"),
        (f"{HEADER}\n{ROW}\n".encode().replace(b"white", b"wh\xefte"), "UTF-8"),
        (f"{HEADER}\n{ROW}\n".encode().replace(b"white", b"wh\x00te"), "zero byte"),
        (f'{HEADER}\n"{ROW}\n'.encode(), "quotation marks"),
        (f"\n{HEADER}\n{ROW}\n".encode(), "first row must be the header"),
        (f"{HEADER}\n{ROW},surplus\n".encode(), "has 12 cells, the header 11"),
        (f"{HEADER},\n{ROW},stray\n".encode(), "under no heading"),
        (f"{HEADER}\n{ROW}\n".encode().replace(b"maple", b"ma\x07ple"), "control characters"),
        (f"{HEADER}\n{ROW}\n".replace("maple", "m" * 201).encode(), "at most 200 characters"),
    ],
)
def test_a_file_that_cannot_be_read_says_what_to_do(content, words):
    with pytest.raises(InputError, match=words):
        read_csv(content, name="pulls.csv")


def test_a_file_of_rubbish_stops_listing_after_a_thousand_problems():
    rows = "\n".join(f"A,{number},x,white glue,maple,pry,disc,50,x,x,broke" for number in range(2000))
    assert 1000 <= len(problems_of(f"{HEADER}\n{rows}\n")) <= 1010


def test_a_file_with_decimal_commas_is_read_when_said_to_be_one():
    text = (
        "batch;specimen;tested_on;glue;substrate;action;shape;diameter_mm;load_kgf;outcome;notes\n"
        "A;1;2026-01-17;yellow glue;maple;pull;disc;50,5;1,25e2;broke;one, two\n"
    )
    (pull,) = read_csv(text.encode(), name="x", decimal=Decimal.COMMA).pulls
    assert (pull.joint.outline.diameter_mm, pull.notes) == (50.5, "one, two")
    assert dict(pull.entered)["load_kgf"] == "1.25e2"
    with pytest.raises(InputError, match=r"--decimal comma"):
        read_csv(text.encode(), name="x")


@pytest.mark.parametrize("number", ["50.5", "1.234,5", "1 234", "1,2,3"])
def test_with_decimal_commas_any_other_mark_in_a_number_is_refused(number):
    header = "batch;specimen;tested_on;glue;substrate;action;shape;diameter_mm;load_n;outcome"
    text = f"{header}\nA;1;2026-01-17;g;s;pull;disc;{number};1500;broke\n"
    with pytest.raises(InputError, match="decimal comma"):
        read_csv(text.encode(), name="x", decimal=Decimal.COMMA)


def test_a_comma_separated_file_is_not_taken_for_one_with_decimal_commas():
    with pytest.raises(InputError, match="separated by commas: with --decimal comma"):
        read_csv(b"batch,specimen\nA,1\n", name="x", decimal=Decimal.COMMA)


def test_pulls_are_read_one_by_one_and_every_problem_is_raised_after_the_last():
    lines = [f"{HEADER}\n", f"{ROW}\n", f"{ROW.replace('A,1,', 'A,2,').replace('pry', 'pryy')}\n", "A,3,x\n"]
    stream = streamed_csv((line.encode() for line in lines), name="pulls.csv")
    numbered = stream.numbered
    assert next(numbered)[0] == 2
    with pytest.raises(InputError) as refused:
        next(numbered)
    assert {problem.row for problem in refused.value.problems} == {3, 4}


def test_what_cannot_be_decoded_is_told_beside_the_problems_before_it():
    content = f"{HEADER}\n{ROW.replace('pry', 'pryy')}\n".encode() + b"\xff,\n"
    with pytest.raises(InputError) as refused:
        read_csv(content, name="pulls.csv")
    assert [problem.row for problem in refused.value.problems] == [2, 3]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("last", ["", "end"])
def test_lines_may_end_in_any_of_the_three_ways(end, last):
    text = end.join([HEADER, ROW, ROW.replace("A,1,", "A,2,")]) + (end if last else "")
    assert [pull.specimen for pull in read_csv(text.encode(), name="x").pulls] == ["1", "2"]


def one_row(**cells):
    given = {
        "batch": "A", "specimen": "1", "tested_on": "2026-03-14", "glue": "pva", "substrate": "maple", "action": "pull",
        "shape": "disc", "diameter_mm": "50", "load_n": "900", "outcome": "broke",
    } | cells  # fmt: skip
    return f"{','.join(given)}\n{','.join(given.values())}\n".encode()


def test_a_joint_glued_on_the_day_of_its_test_is_taken():
    assert read_csv(one_row(glued_on="2026-03-14"), name="x").pulls[0].conditions.cure_h == 0.0


@pytest.mark.parametrize(("length", "taken"), [(4000, True), (4001, False)])
def test_notes_are_taken_up_to_their_length(length, taken):
    content = one_row(notes="x" * length)
    if taken:
        assert read_csv(content, name="x").pulls[0].notes == "x" * length
    else:
        with pytest.raises(InputError, match="at most 4000"):
            read_csv(content, name="x")


@pytest.mark.parametrize("extra", [",stray", ",,stray", ",stray,"])
def test_a_filled_cell_beyond_the_header_is_told_and_blank_ones_beside_it_do_not_hide_it(extra):
    problem = one_problem_of(f"{HEADER}\n{ROW}{extra}\n")
    assert (problem.row, problem.value) == (2, "stray")
    assert f"has {11 + extra.count(',')} cells, the header 11" in problem.message


def test_a_row_that_ends_early_is_told_what_it_lacks_and_one_with_blank_cells_behind_it_is_read():
    (problem,) = problems_of(f"{HEADER}\n{ROW.removesuffix(',broke')}\n")
    assert (problem.row, problem.column, problem.value) == (2, "outcome", None)
    assert read(f"{HEADER}\n{ROW},,\n").pulls == read(f"{HEADER}\n{ROW}\n").pulls


def test_of_a_header_parted_by_the_other_mark_eighty_letters_are_shown():
    header = "batch;" + "x" * 200
    problem = one_problem_of(f"{header}\n")
    assert problem.value == header[:80]
    assert len(problem.value) == 80
