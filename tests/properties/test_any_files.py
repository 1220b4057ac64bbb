"""Whatever bytes a file holds: its reader gives what it means, or refuses it with reasons and stores nothing of it."""

from __future__ import annotations

import contextlib
import importlib.util
import io
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from jointlab.app.package_files import package_files
from jointlab.app.workflow import mount_setup
from jointlab.book.book import Book
from jointlab.errors import InputError
from jointlab.mount.mount_demand import mount_demand
from jointlab.publish.package import data_package
from jointlab.publish.publication import Publication, PublishedPull
from jointlab.publish.received import received_package
from jointlab.record.csv_file import read_csv, streamed_csv
from jointlab.record.photo import LONGEST_SIDE_PX, cleaned_photo
from jointlab.record.template import ROWS, TITLES
from jointlab.record.xlsx_file import read_xlsx, sheet_of_rows
from jointlab.stress.joint_stress_of import joint_stress_of

_SPEC = importlib.util.spec_from_file_location("spoil", Path(__file__).parents[1] / "performance" / "fuzz_mutators.py")
spoil = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(spoil)

DATASETS = Path(__file__).parents[2] / "datasets"
LAW = settings(max_examples=60, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
TABLE = b"".join((DATASETS / "demo" / "pulls.csv").read_bytes().splitlines(keepends=True)[:4])
WORKBOOK = sheet_of_rows(TITLES, ROWS)
MOUNT = (DATASETS / "demo" / "mounts" / "bowl_on_maple.toml").read_bytes()
PULLS = read_csv(TABLE, name="pulls.csv").pulls


def picture(form: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (24, 16), "red").save(out, format=form)
    return out.getvalue()


def package() -> bytes:
    published = tuple(PublishedPull(pull, joint_stress_of(pull)) for pull in PULLS[:2])
    publication = Publication(title="p", dated_on="2026-05-01", program_version="0.1.0", pulls=published, strengths=())
    return spoil.packed_of(data_package(publication), random.Random(1))


Spoiler = Callable[[bytes, random.Random], bytes]


def files_like(*whole: bytes, spoiler: Spoiler) -> st.SearchStrategy[bytes]:
    """The files with one to three things in them spoiled; now and then any bytes at all."""

    def spoiled(start: bytes, seed: int, times: int) -> bytes:
        chance = random.Random(seed)
        for _ in range(times):
            start = spoiler(start, chance)
        return start

    near = st.builds(spoiled, st.sampled_from(whole), st.integers(0, 2**32), st.integers(1, 3))
    return st.one_of(near, near, near, near, st.binary(max_size=80))


@contextlib.contextmanager
def refused_or_read(book: Book):
    """Where the file is refused, with reasons that a terminal can show, the book is as it was."""
    before = book.head(), len(book.photos())
    refusals: list[InputError] = []
    try:
        yield
    except InputError as refusal:
        refusals.append(refusal)
    for refused in refusals:
        assert refused.problems
        assert all(problem.message for problem in refused.problems)
        assert str(refused).encode("utf-8", errors="backslashreplace")
        assert (book.head(), len(book.photos())) == before


@pytest.fixture
def book():
    with Book.open("sqlite://") as opened:
        opened.import_pulls([replace(PULLS[0], batch="kept before")])
        yield opened


@LAW
@given(files_like(TABLE, TABLE.replace(b",", b";"), spoiler=spoil.spoiled_table))
def test_any_table_is_stored_whole_or_refused_whole(book, content):
    with refused_or_read(book):
        before = len(book.pulls())
        receipt = book.import_numbered(streamed_csv(io.BytesIO(content), name="x.csv").numbered)
        assert len(book.pulls()) == before + receipt.stored


@LAW
@given(files_like(WORKBOOK, spoiler=spoil.spoiled_workbook))
def test_any_workbook_is_stored_whole_or_refused_whole(book, content):
    with refused_or_read(book):
        before = len(book.pulls())
        receipt = book.import_pulls(read_xlsx(content, name="x.xlsx").pulls)
        assert len(book.pulls()) == before + receipt.stored


@LAW
@given(files_like(*map(picture, ("JPEG", "PNG", "WEBP", "TIFF")), spoiler=spoil.spoiled_picture))
@pytest.mark.filterwarnings("ignore::UserWarning")
def test_any_picture_is_kept_small_or_refused(book, content):
    with refused_or_read(book):
        photo = cleaned_photo(content)
        assert max(photo.width_px, photo.height_px) <= LONGEST_SIDE_PX
        assert Image.open(io.BytesIO(photo.jpeg)).size == (photo.width_px, photo.height_px)
        assert book.keep_photo(photo, pull_id=1).pull_id == 1


@LAW
@given(files_like(MOUNT, MOUNT + b"[[blank_joint]]\nheight_mm = 20\n", spoiler=spoil.spoiled_text))
def test_any_mount_is_worked_out_or_refused(book, tmp_path, content):
    path = tmp_path / "mount.toml"
    path.write_bytes(content)
    with refused_or_read(book):
        demand = mount_demand(mount_setup(path))
        assert all(case.stress.shear_mpa >= 0.0 for case in demand.cases)


@LAW
@given(files_like(package(), spoiler=spoil.spoiled_package))
def test_any_package_is_received_or_refused(book, tmp_path, content):
    path = tmp_path / "p.zip"
    path.write_bytes(content)
    with refused_or_read(book):
        assert received_package(package_files(path), name="p.zip").pulls
