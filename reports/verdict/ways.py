"""Deterministic ways out, applied to random mounts that are asked of one shop book: how many hold.

    python reports/verdict/ways.py             # 1,000 mounts; goes on where it ended
    python reports/verdict/ways.py --mounts N

A book of invented pulls is made, those of the demonstration among them. Each mount is drawn at random and asked for a
verdict as ``decide`` gives it, its look taken down. Each way out that names settings is then applied and the mount
asked again: every rated link must keep the margin, and another combination must pass outright. Each mount has its own
seed, so a run that was stopped goes on where it ended.
"""

from __future__ import annotations

import argparse
import csv
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from jointlab.app import workflow
from jointlab.app.places import demo_files
from jointlab.errors import InputError
from jointlab.mount.document import with_settings
from jointlab.mount.setup_of import setup_of
from jointlab.verdict.values import Verdict, WayOut

HERE = Path(__file__).parent
SEED = 20261125
GLUES = (("yellow wood glue", "hard maple scrap"), ("yellow wood glue", "MDF"), ("two-part epoxy", "hard maple scrap"),
         ("strong glue", "hard maple scrap"))  # fmt: skip
STRONG = "strong glue"


def made_book(folder: Path) -> Path:
    """The demonstration's pulls, and a stronger invented glue whose twelve pries all broke."""
    place = folder / "shop.db"
    workflow.import_file(place, demo_files() / "pulls.csv")
    rng = np.random.default_rng(SEED)
    cells = {"glue": STRONG, "substrate": "hard maple scrap", "tested_on": "2026-03-01", "action": "pry"}
    cells |= {"shape": "disc", "diameter_mm": "50", "arm_mm": "300", "outcome": "broke"}
    cells |= {"substrate_kind": "solid_face", "glue_family": "epoxy", "cure_h": "168"}
    for number in range(12):
        load = f"{24.0 * float(np.exp(0.1 * rng.standard_normal())):.1f}"
        batch = f"S{number % 2}"
        workflow.record_pull(place, {**cells, "batch": batch, "specimen": str(number), "load_kgf": load})
    return place


def random_mount(rng: np.random.Generator) -> dict[str, Any]:
    """A mount such as shops make, most of them on the edge of what these joints stand."""
    across = round(float(rng.uniform(120, 380)))
    joint = round(float(rng.uniform(0.28, 0.75)) * across)
    glue, substrate = GLUES[int(rng.choice(len(GLUES), p=(0.55, 0.15, 0.1, 0.2)))]
    circle = round(0.8 * joint)
    document: dict[str, Any] = {
        "blank": {"diameter_mm": across, "length_mm": round(float(rng.uniform(40, 160))), "density_kg_m3": 620.0,
                  "state": str(rng.choice(["trued", "sawn_round"]))},
        "joint": {"glue": glue, "substrate": substrate, "shape": "disc", "diameter_mm": joint, "age_h": 168.0},
        "block": {"thickness_mm": 38.0, **({"kind": "mdf"} if substrate == "MDF" else {"wood": "sugar maple"})},
        "hold": {"kind": "faceplate", "plate_mm": joint},
        "screws": {"count": int(rng.integers(4, 9)), "circle_mm": circle, "diameter_mm": 5.5, "thread_mm": 33.0},
        "lathe": {"rpm": round(float(rng.uniform(400, 1200)), -1), "motor_w": 1100.0, "size": "midi"},
        "criteria": {"catch": str(rng.choice(["light", "firm", "severe"]))},
    }  # fmt: skip
    if rng.random() < 0.2:
        document["joint"] |= {"shape": "ring", "hole_mm": round(0.4 * joint)}
    return document


def asked(place: Path, document: dict[str, Any], settings: tuple[str, ...] = ()) -> Verdict:
    """The verdict as ``decide`` gives it."""
    return workflow.decide_setup(place, setup_of(with_settings(document, settings)), name="random").verdict


def applied(way: WayOut) -> tuple[str, ...]:
    """The settings of a way out as they are typed."""
    return tuple(f"{key}={value}" for key, value in way.setting)


def holds(way: WayOut, verdict: Verdict, then: Verdict) -> bool:
    """Whether a way out did what it said: another combination passes, any other brings the margin to what is asked."""
    if any(key == "joint.glue" for key, _ in way.setting):
        return then.verdict == "pass"
    reached = then.margin_lower is not None and then.margin_lower >= then.margin_required
    return reached and then.confidence_spent == verdict.confidence_spent


def kind_of(way: WayOut) -> str:
    """What a way out changes."""
    keys = [key for key, _ in way.setting]
    return "another combination" if "joint.glue" in keys else " and ".join(dict.fromkeys(keys))


def outcomes(place: Path, mounts: range) -> Iterator[dict[str, str | int]]:
    """A row for each way out of each mount, and one for each mount that has none."""
    for number in mounts:
        document = random_mount(np.random.default_rng([SEED, 5000 + number]))
        try:
            verdict = asked(place, document)
        except InputError as refused:
            raise AssertionError(f"mount {number} is no mount: {refused}") from refused
        row: dict[str, str | int] = {"mount": number, "verdict": str(verdict.verdict)}
        ways = [way for way in verdict.would_settle if way.setting]
        for way in ways:
            yield {**row, "way": kind_of(way), "held": int(holds(way, verdict, asked(place, document, applied(way))))}
        if not ways:
            yield {**row, "way": "", "held": ""}


def main() -> None:
    """Go on with the mounts that are missing, then tell what held."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--mounts", type=int, default=1000)
    parser.add_argument("--out", type=Path, default=HERE / "ways.csv")
    wish = parser.parse_args()
    rows = list(csv.DictReader(wish.out.open(encoding="utf-8", newline=""))) if wish.out.exists() else []
    done = 1 + max((int(row["mount"]) for row in rows[:-1]), default=-1)
    rows = [row for row in rows if int(row["mount"]) < done]
    with tempfile.TemporaryDirectory() as room, wish.out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fieldnames=["mount", "verdict", "way", "held"])
        writer.writeheader()
        writer.writerows(rows)
        for row in outcomes(made_book(Path(room)), range(done, wish.mounts)):
            writer.writerow(row)
            file.flush()
            rows.append({name: str(value) for name, value in row.items()})
    told = Counter((row["way"], row["held"]) for row in rows if row["way"])
    for (way, held), count in sorted(told.items()):
        print(f"{way}: {count} {'held' if held == '1' else 'MISSED'}")


if __name__ == "__main__":
    main()
