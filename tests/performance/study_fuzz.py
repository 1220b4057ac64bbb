"""Does any file make a reader fail, hang, or store what it refuses? python study_fuzz.py --work FOLDER

Coverage-guided: inputs that reach new code are kept and spoiled further (atheris), by bytes and by structure
(``fuzz_mutators``), from files of ``datasets/`` on. A few thousand inputs at a time in one process; every input is
read as its command reads it, and what is accepted is stored in a book in memory. One line of JSON a part goes to
FOLDER/fuzz.jsonl, every failing input to FOLDER/failures; run again with the same folder, the study goes on where it
stopped. ``--csv FILE`` writes the sums.
"""

from __future__ import annotations

import argparse
import contextlib
import csv
import hashlib
import io
import json
import os
import random
import signal
import subprocess
import sys
import time
import traceback
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from fuzz_mutators import packed_of, spoiled_package, spoiled_picture, spoiled_table, spoiled_text, spoiled_workbook

ROOT = Path(__file__).parents[2]
DATASETS = ROOT / "datasets"
WANTED = 100_000
AT_ONCE = 4_000
SEED = 20261125
LONGEST_S = 10.0
"""Processor time after which an input counts as hanging."""

MOST_BYTES = 40_000
STORED_AT_MOST = 300
FROM_THE_START, BY_BYTES = 0.4, 0.4
"""Share of inputs spoiled anew from a whole file, so that some are still accepted; of the others, those by bytes."""

SUMMED = ("inputs", "accepted", "refused", "tracebacks", "hangs", "stored_from_refused")


class Hanging(BaseException):
    """The input took too long; no reader can catch it by accident."""


@dataclass
class Counts:
    """What became of the inputs of one part."""

    reader: str
    part: int
    inputs: int = 0
    accepted: int = 0
    refused: int = 0
    tracebacks: int = 0
    hangs: int = 0
    stored_from_refused: int = 0
    slowest_s: float = 0.0
    places: dict[str, int] = field(default_factory=dict)


class Shop:
    """A book in memory, opened anew before it grows long."""

    def __init__(self) -> None:
        self.book = None
        self.renew()

    def renew(self) -> None:
        """An empty book but for one pull, of which photos are kept."""
        from jointlab.book.book import Book
        from jointlab.record.csv_file import read_csv

        if self.book is not None:
            self.book.close()
        self.book = Book.open("sqlite://")
        first = read_csv(b"".join((DATASETS / "demo" / "pulls.csv").read_bytes().splitlines(True)[:2]), name="first")
        self.book.import_pulls(first.pulls)
        self.photos, self.stored = 0, 0

    def state(self) -> tuple[str, int]:
        """What changes with everything stored."""
        return self.book.head(), self.photos and len(self.book.photos())


def _read_table(data: bytes, shop: Shop) -> None:
    from jointlab.record.csv_file import Decimal, streamed_csv

    decimal = Decimal.COMMA if b";" in data.split(b"\n", 1)[0] else Decimal.POINT
    shop.stored += shop.book.import_numbered(
        streamed_csv(io.BytesIO(data), name="x.csv", decimal=decimal).numbered
    ).stored


def _read_workbook(data: bytes, shop: Shop) -> None:
    from jointlab.record.xlsx_file import read_xlsx

    shop.stored += shop.book.import_pulls(read_xlsx(data, name="x.xlsx").pulls).stored


def _read_mount(data: bytes, _: Shop) -> None:
    from jointlab.app.workflow import mount_setup
    from jointlab.mount.mount_demand import mount_demand

    path = Path("x.toml")
    path.write_bytes(data)
    mount_demand(mount_setup(path))


def _read_photo(data: bytes, shop: Shop) -> None:
    from jointlab.record.photo import cleaned_photo

    shop.book.keep_photo(cleaned_photo(data), pull_id=1)
    shop.photos += 1
    shop.stored += 10


def _read_package(data: bytes, _: Shop) -> None:
    from jointlab.app.package_files import package_files
    from jointlab.publish.received import received_package

    path = Path("x.zip")
    path.write_bytes(data)
    received_package(package_files(path), name="x.zip")


def _tables() -> list[bytes]:
    demo = (DATASETS / "demo" / "pulls.csv").read_bytes().splitlines(keepends=True)
    bonds = (DATASETS / "adhesive_bond_336" / "pulls.csv").read_bytes().splitlines(keepends=True)
    from jointlab.record.template import ROWS, TITLES

    made = "\n".join([",".join(TITLES), *(",".join("" if cell is None else str(cell) for cell in row) for row in ROWS)])
    comma = (demo[0] + demo[1]).decode().replace(",", ";").replace(".", ",").encode()
    pieces = [demo[0] + b"".join(demo[at : at + 2]) for at in range(1, 40, 6)]
    return [*pieces, bonds[0] + b"".join(bonds[1:3]), made.encode(), comma]


def _workbooks() -> list[bytes]:
    from jointlab.record.csv_file import read_csv
    from jointlab.record.template import ROWS, TITLES
    from jointlab.record.xlsx_file import sheet_of_rows, written_xlsx

    lines = (DATASETS / "demo" / "pulls.csv").read_bytes().splitlines(keepends=True)
    pulls = read_csv(b"".join(lines[:4]), name="demo").pulls
    return [written_xlsx(pulls[:1]), written_xlsx(pulls), sheet_of_rows(TITLES, ROWS)]


def _mounts() -> list[bytes]:
    whole = [path.read_bytes() for path in sorted((DATASETS / "demo" / "mounts").glob("*.toml"))]
    joint = b'\n[[blank_joint]]\nheight_mm = 20\nouter_mm = 200\ninner_mm = 100\nglue = "pva"\nsubstrate = "maple"\n'
    factors = b"\n[factors]\nsevere_n = 4000\n[people]\nlearner = true\n[screws]\ncount = 6\ncircle_mm = 76\n"
    return [*whole, whole[0] + joint, whole[0] + factors]


def _pictures() -> list[bytes]:
    from PIL import Image

    made = []
    for form, mode in (("JPEG", "RGB"), ("JPEG", "L"), ("PNG", "RGBA"), ("PNG", "P"), ("PNG", "I;16"), ("WEBP", "RGB"),
                       ("GIF", "P"), ("TIFF", "RGB"), ("BMP", "RGB")):  # fmt: skip
        out, exif = io.BytesIO(), Image.Exif()
        exif[0x0112] = 6
        more = {"exif": exif} if form in ("JPEG", "PNG", "WEBP") else {}
        Image.new(mode, (24, 16), 7 if mode in ("L", "P", "I;16") else "red").save(out, format=form, **more)
        made.append(out.getvalue())
    heic = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(64)
    return [*made, heic]


def _packages() -> list[bytes]:
    from jointlab.publish.package import data_package
    from jointlab.publish.publication import Publication, PublishedPull
    from jointlab.record.csv_file import read_csv
    from jointlab.stress.joint_stress_of import joint_stress_of

    made = []
    for shop in ("aldermead", "dunnockfield"):
        pulls = read_csv((DATASETS / "pool" / f"{shop}.csv").read_bytes(), name=shop).pulls[:2]
        published = tuple(PublishedPull(pull, joint_stress_of(pull)) for pull in pulls)
        values = {"title": shop, "dated_on": "2026-05-01", "program_version": "0.1.0"}
        files = data_package(Publication(pulls=published, strengths=(), **values))
        made.append(packed_of(files, random.Random(1)))
    return made


@dataclass(frozen=True)
class Reader:
    """One kind of file: where it starts from, how it is spoiled and how it is read."""

    starts: Callable[[], list[bytes]]
    spoil: Callable[[bytes, random.Random], bytes]
    read: Callable[[bytes, Shop], None]
    watched: tuple[str, ...]


READERS = {
    "csv": Reader(_tables, spoiled_table, _read_table, ("jointlab",)),
    "toml": Reader(_mounts, spoiled_text, _read_mount, ("jointlab", "tomllib")),
    "photo": Reader(_pictures, spoiled_picture, _read_photo, ("jointlab", "PIL")),
    "package": Reader(_packages, spoiled_package, _read_package, ("jointlab",)),
    "xlsx": Reader(_workbooks, spoiled_workbook, _read_workbook, ("jointlab", "openpyxl.worksheet")),
}


def _late(*_: object) -> None:
    raise Hanging


def _tried(data: bytes, reader: Reader, shop: Shop, counts: Counts, failures: Path) -> None:
    from jointlab.errors import JointlabError

    before, began = shop.state(), time.process_time()
    signal.setitimer(signal.ITIMER_VIRTUAL, LONGEST_S)
    failed = ""
    try:
        reader.read(data, shop)
        counts.accepted += 1
    except JointlabError as error:
        str(error).encode("utf-8", errors="backslashreplace")
        counts.refused += 1
        if shop.state() != before:
            counts.stored_from_refused += 1
            failed = "stored from refused"
    except Hanging:
        counts.hangs += 1
        failed = "hang"
    except BaseException as error:
        counts.tracebacks += 1
        last = traceback.extract_tb(error.__traceback__)[-1]
        failed = f"{type(error).__name__} {Path(last.filename).name}:{last.lineno}"
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
    counts.inputs += 1
    counts.slowest_s = round(max(counts.slowest_s, time.process_time() - began), 3)
    if failed:
        counts.places[failed] = counts.places.get(failed, 0) + 1
        if counts.places[failed] <= 3:
            digest = hashlib.sha256(data).hexdigest()[:12]
            (failures / f"{counts.reader}-{failed.replace(' ', '_').replace('/', '_')}-{digest}").write_bytes(data)
    if shop.stored > STORED_AT_MOST:
        shop.renew()


def _part(name: str, part: int, wanted: int, work: Path) -> None:
    """One part, in this process: ends it."""
    import atheris

    reader = READERS[name]
    os.chdir(work / "scratch")
    with atheris.instrument_imports(include=list(reader.watched)):
        shop = Shop()
        for start in reader.starts():
            with contextlib.suppress(Exception):
                reader.read(start, shop)
    failures = work / "failures"
    failures.mkdir(exist_ok=True)
    corpus = work / f"corpus-{name}"
    corpus.mkdir(exist_ok=True)
    starts = reader.starts()
    for number, start in enumerate(starts):
        (corpus / f"start-{number}").write_bytes(start)
    counts = Counts(name, part)
    signal.signal(signal.SIGVTALRM, _late)
    warnings.simplefilter("ignore")

    def one(data: bytes) -> None:
        _tried(data, reader, shop, counts, failures)
        if counts.inputs >= wanted:
            (work / "part.json").write_text(json.dumps(counts.__dict__), encoding="utf-8")
            os._exit(0)

    def spoiled(data: bytes, most: int, seed: int) -> bytes:
        chance = random.Random(seed)
        if chance.random() < FROM_THE_START:
            data = chance.choice(starts)
        elif chance.random() < BY_BYTES:
            return atheris.Mutate(data, most)
        return reader.spoil(data, chance)[:most]

    words = [f"-seed={SEED + part}", f"-max_len={MOST_BYTES}", "-rss_limit_mb=6000", "-verbosity=0", "-timeout=600"]
    atheris.Setup([sys.argv[0], *words, str(corpus)], one, custom_mutator=spoiled)
    atheris.Fuzz()


def _lines_of(out: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()] if out.exists() else []


def _next(lines: list[dict[str, object]], readers: list[str], wanted: int) -> tuple[str, int] | None:
    """The reader with the fewest inputs so far, and the number of its part."""
    done = {name: sum(line["inputs"] for line in lines if line["reader"] == name) for name in readers}
    name = min(done, key=lambda each: done[each])
    return None if done[name] >= wanted else (name, sum(line["reader"] == name for line in lines))


def study(work: Path, readers: list[str], wanted: int, at_once: int) -> None:
    """Part after part, the least tried reader next."""
    (work / "scratch").mkdir(parents=True, exist_ok=True)
    out, told = work / "fuzz.jsonl", work / "part.json"
    while (following := _next(_lines_of(out), readers, wanted)) is not None:
        name, part = following
        told.unlink(missing_ok=True)
        words = ["--work", str(work), "--part", name, str(part), "--at-once", str(at_once)]
        with (work / "part.log").open("wb") as log:
            done = subprocess.run([sys.executable, __file__, *words], stdout=log, stderr=log, check=False)
        if not told.exists():
            sys.exit(f"the part ended by itself with {done.returncode}: see {work / 'part.log'}")
        with out.open("a", encoding="utf-8") as file:
            file.write(told.read_text(encoding="utf-8") + "\n")
        print(told.read_text(encoding="utf-8"), flush=True)


def write_sums(out: Path, written: Path) -> None:
    """A line for each reader."""
    lines = _lines_of(out)
    with written.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["reader", *SUMMED, "slowest_s"])
        for name in READERS:
            own = [line for line in lines if line["reader"] == name]
            sums = [sum(line[key] for line in own) for key in SUMMED]
            rows.writerow([name, *sums, max((line["slowest_s"] for line in own), default="")])


def main() -> None:
    """Run the study, or go on with it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--work", type=Path, required=True)
    parser.add_argument("--inputs", type=int, default=WANTED)
    parser.add_argument("--at-once", type=int, default=AT_ONCE)
    parser.add_argument("--reader", choices=sorted(READERS), action="append")
    parser.add_argument("--part", nargs=2)
    parser.add_argument("--csv", type=Path)
    asked = parser.parse_args()
    work = asked.work.resolve()
    if asked.part:
        _part(asked.part[0], int(asked.part[1]), asked.at_once, work)
    elif asked.csv:
        write_sums(work / "fuzz.jsonl", asked.csv)
    else:
        study(work, asked.reader or list(READERS), asked.inputs, asked.at_once)


if __name__ == "__main__":
    main()
