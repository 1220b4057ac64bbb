"""Packages of invented shops, small enough to be spoiled by the thousand."""

from __future__ import annotations

from pathlib import Path

import pytest

from jointlab.publish.package import data_package
from jointlab.publish.publication import Publication, PublishedPull
from jointlab.record.csv_file import read_csv
from jointlab.stress.joint_stress_of import joint_stress_of

SHOPS = Path(__file__).parents[2] / "datasets" / "pool"


def package_of(shop: str, *, most: int = 1000, made=None, **more) -> dict[str, bytes]:
    """The package of a shop's pulls, without a page."""
    pulls = read_csv((SHOPS / f"{shop}.csv").read_bytes(), name=shop).pulls[:most]
    published = tuple(PublishedPull(pull, joint_stress_of(pull)) for pull in pulls)
    values = {"title": f"Pulls of {shop}", "dated_on": "2026-05-01", "program_version": "0.1.0"} | more
    return data_package(Publication(pulls=published, strengths=(), **values), made=made)


@pytest.fixture(scope="session")
def invented():
    """The maker of packages."""
    return package_of


@pytest.fixture
def written(tmp_path):
    """Writes a package to a folder of its name; gives the folder."""

    def write(name: str, files: dict[str, bytes]) -> Path:
        for path, content in files.items():
            target = tmp_path / name / path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        return tmp_path / name

    return write
