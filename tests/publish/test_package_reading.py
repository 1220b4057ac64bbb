"""A package is read only if every file is what its descriptor says; whatever else is refused with the reason."""

from __future__ import annotations

import hashlib
import json
import random
from dataclasses import replace

import pytest

from jointlab.errors import InputError, JointlabError
from jointlab.publish.package import data_package
from jointlab.publish.package_reading import package_read


@pytest.fixture
def files(made) -> dict[str, bytes]:
    first = made.pull_of("1", lower=3.5, upper=3.5)
    entered = replace(first, pull=replace(first.pull, entered=(("load_kgf", "15.3"), ("diameter_mm", "50"))))
    publication = made.publication_of(pulls=(entered, made.pull_of("2", lower=5.0, upper=None)))
    return data_package(publication, files={"figures/strengths.svg": b"<svg/>"}, chain="0" * 64)


def with_descriptor(files, change) -> dict[str, bytes]:
    descriptor = json.loads(files["datapackage.json"])
    change(descriptor)
    return files | {"datapackage.json": json.dumps(descriptor).encode()}


def test_the_pulls_come_back_with_what_was_entered(files):
    package = package_read(files, name="theirs")
    assert [pull.specimen for pull in package.pulls] == ["1", "2"]
    assert set(package.pulls[0].entered) == {("load_kgf", "15.3"), ("diameter_mm", "50")}
    assert package.pulls[0].loading.load == 150.0
    assert (package.shop, package.descriptor.jointlab.chain) == (None, "0" * 64)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda files: files.pop("pulls.csv"), "pulls.csv is described and not there"),
        (lambda files: files.update({"run.exe": b"MZ"}), "run.exe is there and not described"),
        (lambda files: files.update({"bounds.csv": b"x"}), "bounds.csv is not the file that was described"),
        (lambda files: files.update({"datapackage.json": b"{"}), "is no JSON"),
        (lambda files: files.update({"datapackage.json": b"[" * 100_000}), "is no JSON"),
        (lambda files: files.update({"datapackage.json": b"{}"}), "Field required"),
        (lambda files: files.pop("datapackage.json"), "holds no datapackage.json"),
    ],
)
def test_what_is_not_as_described_is_refused_with_the_file_s_name(files, change, said):
    change(files)
    with pytest.raises(InputError) as refused:
        package_read(files, name="theirs")
    assert any(said in f"{problem.column} {problem.message}" for problem in refused.value.problems)


@pytest.mark.parametrize("path", ["../pulls.csv", "/etc/passwd", "a/../../b.csv", "C:\\x.csv", "a/b/c.csv", ".git"])
def test_a_path_out_of_the_package_is_refused(files, path):
    content = b"x"
    resource = {"path": path, "bytes": 1, "hash": f"sha256:{hashlib.sha256(content).hexdigest()}"}
    hostile = with_descriptor(files, lambda descriptor: descriptor["resources"].append(resource)) | {path: content}
    with pytest.raises(InputError, match="no name of a file within the package"):
        package_read(hostile, name="theirs")


def test_random_changes_of_any_file_are_never_accepted_and_never_a_crash(files):
    chance = random.Random(11)
    for _ in range(400):
        name = chance.choice(sorted(files))
        whole = bytearray(files[name])
        for _ in range(chance.randint(1, 3)):
            place = chance.randrange(len(whole))
            act = chance.randrange(3)
            if act == 0:
                whole[place] = chance.randrange(256)
            elif act == 1:
                del whole[place : place + chance.randint(1, 40)]
            else:
                whole[place:place] = bytes(chance.randrange(256) for _ in range(chance.randint(1, 20)))
            if not whole:
                break
        mutated = files | {name: bytes(whole)}
        try:
            package = package_read(mutated, name="theirs")
        except JointlabError:
            continue
        # only what the descriptor says of people and words may differ without being found
        assert name == "datapackage.json" or mutated == files
        assert package.pulls == package_read(files, name="theirs").pulls
