"""Make every report in this folder anew from datasets/: python reports/rebuild.py [FOLDER]."""

from __future__ import annotations

import importlib.util
import sys
import tempfile
from pathlib import Path
from types import ModuleType

from jointlab.app.comparing import Also, Drawing, compare_in, plot_comparison
from jointlab.app.demonstration import run_demo
from jointlab.app.places import demo_files
from jointlab.app.planning import PlanWords, planned, plot_power
from jointlab.app.publishing import plot_strengths
from jointlab.app.workflow import import_file
from jointlab.book.stored import EVERY_PULL, PullSelection
from jointlab.record.vocabulary import Action

HERE = Path(__file__).parent
DEMO_DATE = "2026-02-01"
README_PLAN = PlanWords(
    ("yellow wood glue on ash scrap", "epoxy on ash scrap"), 3.5, "2026-11-13", difference_pct=40.0, spread_pct=15.0
)


def rebuild_demo(folder: Path) -> None:
    """The demonstration's page, its pulls, and the figure that README shows."""
    with tempfile.TemporaryDirectory() as room:
        run = run_demo(Path(room) / "demo", dated_on=DEMO_DATE)
        for file in run.page.parent.iterdir():
            (folder / file.name).write_bytes(file.read_bytes())
        plot_strengths(run.book, EVERY_PULL, folder / "strengths.png")


def rebuild_compare(folder: Path) -> None:
    """The two-way analysis of the bond loads, the figures of the demonstration's comparison, and of README's plan."""
    (folder / "bond_loads.md").write_text(_bond_loads().page(), encoding="utf-8")
    with tempfile.TemporaryDirectory() as room:
        book = Path(room) / "shop.db"
        import_file(book, demo_files() / "pulls.csv")
        compared = compare_in(book, PullSelection(action=Action.PRY), also=frozenset({Also.BREAKS}))
        plot_comparison(compared, folder / "effects.png")
        plot_comparison(compared, folder / "breaks.png", drawing=Drawing.BREAKS)
    plot_power(planned(None, README_PLAN), folder / "power.png")


def _bond_loads() -> ModuleType:
    spec = importlib.util.spec_from_file_location("bond_loads", HERE / "compare" / "bond_loads.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def rebuild(folder: Path) -> None:
    """Every report."""
    for name, rebuilt in {"demo": rebuild_demo, "compare": rebuild_compare}.items():
        (folder / name).mkdir(parents=True, exist_ok=True)
        rebuilt(folder / name)


if __name__ == "__main__":
    rebuild(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
