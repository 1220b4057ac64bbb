import csv
import hashlib
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from jointlab.errors import InputError
from jointlab.publish.package import DESCRIPTOR, OURS, data_package, sealed
from jointlab.publish.publication import Publication, PublishedPull
from jointlab.publish.received import received_package
from jointlab.record.csv_file import read_csv
from jointlab.record.joint import Combination
from jointlab.stress.joint_stress_of import joint_stress_of

SHOP = Path(__file__).parents[2] / "datasets" / "pool" / "dunnockfield.csv"


@pytest.fixture(scope="module")
def pulls():
    return read_csv(SHOP.read_bytes(), name="shop").pulls[:6]


@pytest.fixture
def files(pulls):
    published = tuple(PublishedPull(pull, joint_stress_of(pull)) for pull in pulls)
    values = {"title": "Six pulls", "dated_on": "2026-05-01", "program_version": "0.1.0"}
    return data_package(Publication(pulls=published, strengths=(), **values), made={"book": "f" * 64})


def forged(files, **changed):
    """Files exchanged, and every hash and the seal made anew: what a forger who knows the program would send."""
    forgery = files | changed
    described = json.loads(forgery[DESCRIPTOR])
    for resource in described["resources"]:
        content = forgery[resource["path"]]
        resource |= {"bytes": len(content), "hash": f"sha256:{hashlib.sha256(content).hexdigest()}"}
    return forgery | {DESCRIPTOR: sealed(described)}


def with_cell(files, column, text, *, row=0):
    rows = list(csv.DictReader(io.StringIO(files["pulls.csv"].decode(), newline="")))
    rows[row][column] = text
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return forged(files, **{"pulls.csv": out.getvalue().encode()})


def test_what_was_published_comes_back_pull_by_pull(files, pulls):
    received = received_package(files, name="p")
    assert received.pulls == pulls
    assert (received.dated_on, received.book, received.read.shop) == ("2026-05-01", "f" * 64, None)


def test_any_changed_file_is_refused_by_name(files):
    changed = files | {"strengths.csv": files["strengths.csv"] + b"\r\n"}
    with pytest.raises(InputError, match=r"strengths\.csv"):
        received_package(changed, name="p")
    with pytest.raises(InputError, match=r"bounds\.csv"):
        received_package({name: content for name, content in files.items() if name != "bounds.csv"}, name="p")
    with pytest.raises(InputError, match=r"run\.exe"):
        received_package(files | {"run.exe": b"MZ"}, name="p")


def test_a_descriptor_is_refused_once_a_byte_of_it_is_another(files):
    for before, after in ((b"Six pulls", b"Ten pulls"), (b'"schema": 1', b'"schema":  1'), (b"ffff", b"fffe")):
        changed = files | {DESCRIPTOR: files[DESCRIPTOR].replace(before, after, 1)}
        with pytest.raises(InputError, match="changed after it was written"):
            received_package(changed, name="p")


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"{", "cannot be read as JSON"),
        (b"[" * 100_000, "cannot be read as JSON"),
        (b"\xff", "cannot be read as JSON"),
        (b'{"jointlab": {"schema": NaN}}', "cannot be read as JSON"),
        (b"[]", "was not written by jointlab"),
        (b'{"jointlab": {"schema": 2}}', "by another jointlab"),
        (b" " * 8_000_001, "more than any of ours"),
    ],
)
def test_a_descriptor_of_another_kind_is_refused(files, content, reason):
    with pytest.raises(InputError, match=reason):
        received_package(files | {DESCRIPTOR: content}, name="p")


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "-2+3", "\tx"])
def test_a_formula_is_refused_even_with_its_hash_made_anew(files, text):
    with pytest.raises(InputError, match="would run it as a formula"):
        received_package(with_cell(files, "glue", text), name="p")


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "<img src=x onerror=x>", "JavaScript:x", "</td>", "<!--"]
)
def test_script_is_refused_in_cells_and_in_the_descriptor(files, text):
    with pytest.raises(InputError, match="holds script or markup"):
        received_package(with_cell(files, "glue", text), name="p")
    described = json.loads(files[DESCRIPTOR])
    described["title"] = text
    with pytest.raises(InputError, match="holds script, markup or control"):
        received_package(files | {DESCRIPTOR: sealed(described)}, name="p")


def test_a_load_that_does_not_follow_from_what_was_entered_is_refused(files):
    with pytest.raises(InputError, match=r"load_lbf = 24\.7 is not load_n"):
        received_package(with_cell(files, "load_n", "150.0"), name="p")


def test_a_strength_that_does_not_follow_from_the_load_is_refused(files):
    with pytest.raises(InputError, match="does not follow from the load"):
        received_package(with_cell(files, "strength_lower_mpa", "9.0"), name="p")


def test_a_number_out_of_its_limits_or_a_pull_named_twice_is_refused(files):
    with pytest.raises(InputError, match="must be greater than 0"):
        received_package(with_cell(files, "diameter_mm", "-50"), name="p")
    with pytest.raises(InputError, match="name each once"):
        received_package(with_cell(files, "specimen", "2"), name="p")


def test_a_column_of_no_package_of_ours_is_refused(files):
    table = files["pulls.csv"].replace(b"batch,", b"macro,", 1)
    with pytest.raises(InputError, match="'macro'"):
        received_package(forged(files, **{"pulls.csv": table}), name="p")


def test_a_path_that_leads_out_is_refused_with_its_seal_made_anew(files):
    described = json.loads(files[DESCRIPTOR])
    described["resources"][1]["path"] = "../strengths.csv"
    renamed = {("../strengths.csv" if name == "strengths.csv" else name): files[name] for name in files}
    with pytest.raises(InputError, match="no name of a file within"):
        received_package(renamed | {DESCRIPTOR: sealed(described)}, name="p")


def test_the_seal_does_not_count_itself(files):
    described = json.loads(files[DESCRIPTOR])
    assert len(described[OURS]["digest"]) == 64
    assert sealed(described) == files[DESCRIPTOR]


def test_a_name_that_begins_like_a_formula_is_taken_as_publish_wrote_it(pulls):
    named = replace(pulls[0], joint=replace(pulls[0].joint, combination=Combination("=hide glue", "ash")))
    values = {"title": "One pull", "dated_on": "2026-05-01", "program_version": "0.1.0"}
    files = data_package(Publication(pulls=(PublishedPull(named, joint_stress_of(named)),), strengths=(), **values))
    assert b"'=hide glue" in files["pulls.csv"]
    (pull,) = received_package(files, name="theirs").pulls
    assert pull.joint.combination.glue == "=hide glue"
