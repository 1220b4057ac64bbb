"""Make every report in this folder anew from datasets/: python reports/rebuild.py [FOLDER]."""

from __future__ import annotations

import importlib.util
import sys
import tempfile
import zipfile
from pathlib import Path
from types import ModuleType

from jointlab import __version__
from jointlab.app.comparing import Also, Drawing, compare_in, plot_comparison
from jointlab.app.demonstration import run_demo
from jointlab.app.folders import folder_files
from jointlab.app.places import demo_files
from jointlab.app.planning import PlanWords, planned, plot_power
from jointlab.app.pooling import PoolWish, contribution_of, pool_files, pool_of, write_wall
from jointlab.app.publishing import Wish, publication_files
from jointlab.app.workflow import import_file, read_file
from jointlab.book.stored import PullSelection
from jointlab.publish.disclosure import Private
from jointlab.publish.field_file import field_entries
from jointlab.publish.package import data_package
from jointlab.publish.publication import Publication, PublishedPull
from jointlab.publish.received import received_package
from jointlab.publish.typesetting import Paper
from jointlab.record.vocabulary import Action
from jointlab.stress.joint_stress_of import joint_stress_of

HERE = Path(__file__).parent
DATASETS = HERE.parent / "datasets"
DEMO_DATE = "2026-02-01"
POOL_DATE = "2026-05-01"
BOND_LOADS = Wish(
    title="336 failure loads of an aged adhesive bond",
    question="How much strength is left after weeks in heat and damp, eight joints to each condition?",
    provenance="Somebody else's measurements: data set AdhesiveBondC, companion data to Meeker and Escobar, "
    "Statistical Methods for Reliability Data. The disc of 25 mm, the date and one glue-up to each condition are "
    "invented here, so that stresses are only proportional to the loads.",
    dated_on="2026-05-01",
    licence="not established: the data of others",
    disclosing=frozenset({Private.NOTES}),
)
README_PLAN = PlanWords(
    ("yellow wood glue on ash scrap", "epoxy on ash scrap"), 3.5, "2026-11-13", difference_pct=40.0, spread_pct=15.0
)


def rebuild_demo(folder: Path) -> None:
    """The demonstration's publication, whole; README shows its figure."""
    with tempfile.TemporaryDirectory() as room:
        run = run_demo(Path(room) / "demo", dated_on=DEMO_DATE)
        for name, content in folder_files(run.page.parent).items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(content)


def rebuild_compare(folder: Path) -> None:
    """The two-way analysis of the bond loads, what the studies found, and the figures README shows."""
    for name in ("bond_loads", "studies"):
        (folder / f"{name}.md").write_text(_beside(name).page(), encoding="utf-8")
    with tempfile.TemporaryDirectory() as room:
        book = Path(room) / "shop.db"
        import_file(book, demo_files() / "pulls.csv")
        compared = compare_in(book, PullSelection(action=Action.PRY), also=frozenset({Also.BREAKS}))
        plot_comparison(compared, folder / "effects.png")
        plot_comparison(compared, folder / "breaks.png", drawing=Drawing.BREAKS)
    plot_power(planned(None, README_PLAN), folder / "power.png")


def _beside(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, HERE / "compare" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def rebuild_bond_loads(folder: Path) -> None:
    """The 336 bond loads as a whole publication, as any shop would make it, packed into one file."""
    pulls = read_file(DATASETS / "adhesive_bond_336" / "pulls.csv").pulls
    with zipfile.ZipFile(folder / "bond_loads.zip", "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name, content in publication_files(pulls, BOND_LOADS).items():
            packed.writestr(zipfile.ZipInfo(f"bond_loads/{name}"), content, zipfile.ZIP_DEFLATED, 9)


def rebuild_pool(folder: Path) -> None:
    """Six invented shops: a package of each, read back as any other, the page of all together, the sheet for a wall."""
    contributions = [
        contribution_of(received_package(package_of_table(table), name=table.stem))
        for table in sorted((DATASETS / "pool").glob("*.csv"))
    ]
    pool = pool_of(contributions, PoolWish())
    for name, content in pool_files(pool, dated_on=POOL_DATE).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    for paper in Paper:
        write_wall(pool, folder / f"wall-{paper}.pdf", paper=paper, dated_on=POOL_DATE)


def package_of_table(table: Path) -> dict[str, bytes]:
    """The data package of a table of pulls and of how the shop's mounts went, without page and figures."""
    pulls = tuple(PublishedPull(pull, joint_stress_of(pull)) for pull in read_file(table).pulls)
    publication = Publication(
        title=f"Pulls of {table.stem}",
        dated_on=POOL_DATE,
        program_version=__version__,
        pulls=pulls,
        strengths=(),
        provenance="Invented: no joint was glued and none was pulled.",
        field=field_entries((table.parent / "mounts" / table.name).read_bytes(), name=table.name),
    )
    return data_package(publication)


MADE = {
    "demo": rebuild_demo,
    "compare": rebuild_compare,
    "bond_loads": rebuild_bond_loads,
    "pool": rebuild_pool,
}


def rebuild(folder: Path) -> None:
    """Every report."""
    for name, rebuilt in MADE.items():
        (folder / name).mkdir(parents=True, exist_ok=True)
        rebuilt(folder / name)


if __name__ == "__main__":
    rebuild(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
