import hashlib
import io
import json
import zipfile

import numpy as np
import pytest

from jointlab.app.cli import main
from jointlab.app.package_files import package_files
from jointlab.app.pooling import PoolWish, pool_document, pool_packages, write_pool
from jointlab.errors import InputError
from jointlab.publish.received import received_package

SIX = ("aldermead", "brackenholt", "cindermill", "dunnockfield", "elmstead", "fernlea")
MUTATIONS = 400


@pytest.fixture
def six(invented, written):
    return [written(shop, invented(shop)) for shop in SIX]


def test_six_shops_are_pooled_each_pull_once(six):
    pooled = pool_packages(six, PoolWish(substrate="hard maple scrap"))
    (maple,) = pooled.combinations
    assert maple.pulls == 72
    assert len(maple.pooled.shops) == 6
    assert 1.5 < maple.pooled.next_joint_mpa < 3.5
    assert [effect.between for effect in maple.pooled.effects] == ["dersimonian_laird", "paule_mandel", "reml"]
    told = " ".join(ruling.text for ruling in pooled.gathered.rulings)
    assert "'Yellow Wood Glue' is taken for 'yellow wood glue'" in told
    assert "shop 4 entered load_lbf" in told


def test_the_same_package_twice_changes_no_number(six):
    once, twice = (pool_document(pool_packages(paths)) for paths in (six, [*six, six[0]]))
    assert once.combinations == twice.combinations
    assert [each["kind"] for each in twice.decisions if each not in once.decisions] == ["shop", "duplicate"]


def test_one_bad_package_and_none_is_taken_with_every_reason(six):
    (six[1] / "pulls.csv").write_bytes(b"batch\r\n")
    (six[4] / "strengths.csv").unlink()
    with pytest.raises(InputError) as refusal:
        pool_packages(six)
    told = str(refusal.value)
    assert "brackenholt" in told
    assert "strengths.csv: is described and not there" in told


def test_the_page_tells_decisions_and_that_it_is_no_verdict_and_overwrites_nothing(six, tmp_path):
    pooled = pool_packages(six)
    page = write_pool(pooled, tmp_path / "out", dated_on="2026-06-01").read_text(encoding="utf-8")
    assert "alone they are never a pass" in page
    assert page.count("<svg") == 2
    assert "is taken for" in page
    assert "Hartung" in page
    assert "<script" not in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    numbers = json.loads((tmp_path / "out" / "pooled.json").read_text(encoding="utf-8"))
    assert numbers["combinations"][0]["next_joint_mpa"] == pooled.combinations[0].pooled.next_joint_mpa
    with pytest.raises(InputError, match="is not empty"):
        write_pool(pooled, tmp_path / "out")


def test_the_command_prints_the_pool_and_one_object_under_json(six, capsys, tmp_path):
    words = ["pool", *map(str, six)]
    assert main([*words, "--substrate", "birch plywood", "--plot", str(tmp_path / "f.svg")]) == 0
    told = capsys.readouterr().out
    assert "6 shops, 144 pulls, each counted once." in told
    assert "The next joint of a new shop exceeds" in told
    assert (tmp_path / "f.svg").read_bytes().startswith(b"<?xml")
    assert main([*words, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["schema"] == 1
    assert main([*words[:3]]) == 4


def test_the_command_writes_one_sheet_for_a_wall_that_names_nobody(six, capsys, tmp_path):
    from pypdf import PdfReader

    assert main(["pool", *map(str, six), "--wall", str(tmp_path / "wall.pdf"), "--paper", "letter"]) == 0
    assert "Wall sheet written: " in capsys.readouterr().out
    (page,) = PdfReader(tmp_path / "wall.pdf").pages
    assert "yellow wood glue on birch plywood" in " ".join(page.extract_text().split())
    assert main(["pool", str(six[0]), "--wall", str(tmp_path / "w.pdf"), "--paper", "a5"]) == 2


def test_a_refused_package_ends_with_exit_2_and_the_reason(six, capsys):
    (six[0] / "datapackage.json").write_text("{}", encoding="utf-8")
    assert main(["pool", *map(str, six), "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert "was not written by jointlab" in error["problems"][0]["message"]


def packed(files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def spoiled(content, rng):
    """The bytes with some changed, cut, doubled, moved or put in from elsewhere."""
    there = bytearray(content)
    for _ in range(int(rng.integers(1, 4))):
        place, length = int(rng.integers(0, max(len(there), 1))), int(rng.integers(1, 60))
        kind = rng.integers(0, 6)
        if kind == 0 and there:
            there[place % len(there)] ^= int(rng.integers(1, 256))
        elif kind == 1:
            del there[place : place + length]
        elif kind == 2:
            there[place:place] = there[place : place + length]
        elif kind == 3:
            there[place:place] = rng.bytes(length)
        elif kind == 4:
            there = there[:place]
        else:
            evil = (b"=cmd()", b"<script>", b"../../x", b"1e999", b"NaN", b"\x00", b'"', b",", b"\r\n", b"-1")
            there[place : place + 1] = evil[int(rng.integers(0, len(evil)))]
    return bytes(there)


def mutated(files, rng):
    """A package of which one file, or the zip as a whole, was spoiled."""
    if rng.random() < 0.5:
        name = sorted(files)[int(rng.integers(0, len(files)))]
        return packed(files | {name: spoiled(files[name], rng)})
    return spoiled(packed(files), rng)


def accepted_otherwise(files, rng, path, room):
    """Whether a mutated package was taken for another than it was; anything but a refusal that is raised is a bug."""
    path.write_bytes(mutated(files, rng))
    before = sorted(room.rglob("*"))
    try:
        read = received_package(package_files(path), name="p")
    except InputError:
        return False
    finally:
        assert sorted(room.rglob("*")) == before
    return read.pulls != received_package(files, name="p").pulls or dict(read.read.files) != files


def test_no_mutated_package_is_accepted_that_differs_none_crashes_and_nothing_is_written(invented, tmp_path):
    files = invented("dunnockfield", most=4)
    rng = np.random.default_rng(20261126)
    assert received_package(files, name="p").pulls
    taken = [accepted_otherwise(files, rng, tmp_path / "p.zip", tmp_path) for _ in range(MUTATIONS)]
    assert sum(taken) == 0


def test_a_package_of_every_shop_validates_its_own_hashes(invented):
    for shop in SIX:
        files = invented(shop)
        described = json.loads(files["datapackage.json"])["resources"]
        assert {each["hash"] for each in described} == {
            f"sha256:{hashlib.sha256(content).hexdigest()}"
            for name, content in files.items()
            if name != "datapackage.json"
        }
