"""Make the invented pulls and mounts of six shops: python datasets/make_pool.py.

Writes datasets/pool/*.csv and datasets/pool/mounts/*.csv; same seed, same bytes.

No joint was glued and none was pulled. The shops differ in the median of their joints (standard deviation of the
logarithm 0.22), glue-ups within a shop (0.08) and joints within a glue-up (0.16); each has its own rig, unit and way of
writing names. The third loads in steps, the fourth stops at the limit of its scale.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent / "pool"
SEED = 20260415
MEDIAN_MPA = {"hard maple scrap": 4.6, "birch plywood": 2.9}
SHOP_SD, GLUE_UP_SD, JOINT_SD = 0.22, 0.08, 0.16
GRAVITY_M_S2 = 9.80665

# name, unit of load, newton in it, diameter mm, arm mm, glue as written, glue-ups, specimens each, limit N, step N
SHOPS = (
    ("aldermead", "kgf", GRAVITY_M_S2, 50.0, 300.0, "yellow wood glue", 2, 5, None, None),
    ("brackenholt", "n", 1.0, 45.0, 250.0, "Yellow Wood Glue", 3, 4, None, None),
    ("cindermill", "kgf", GRAVITY_M_S2, 50.0, 300.0, "yellow wood glue", 2, 6, None, 10.0),
    ("dunnockfield", "lbf", 4.4482216152605, 50.8, 304.8, "yellow wood glue", 2, 5, 220.0, None),
    ("elmstead", "n", 1.0, 40.0, 200.0, "Yellow wood glue", 2, 6, None, None),
    ("fernlea", "kgf", GRAVITY_M_S2, 50.0, 300.0, "yellow wood glue", 4, 4, None, None),
)


def rows_of(shop: tuple, rng: np.random.Generator) -> list[dict[str, str]]:
    """Rows of one shop in its own units."""
    name, unit, newton, diameter_mm, arm_mm, glue, glue_ups, each, limit_n, step_n = shop
    section_mm3 = math.pi * diameter_mm**3 / 32.0
    moved = SHOP_SD * rng.standard_normal()
    rows = []
    for substrate, median_mpa in MEDIAN_MPA.items():
        for glue_up in range(1, glue_ups + 1):
            with_it = GLUE_UP_SD * rng.standard_normal()
            for specimen in range(1, each + 1):
                strength_mpa = median_mpa * math.exp(moved + with_it + JOINT_SD * rng.standard_normal())
                load_n = strength_mpa * section_mm3 / arm_mm
                row = {
                    "batch": f"{name} {substrate.split()[0]} {glue_up}",
                    "specimen": str(specimen),
                    "tested_on": f"2026-{2 + glue_up:02d}-{10 + specimen:02d}",
                    "glue": glue,
                    "substrate": substrate,
                    "action": "pry",
                    "shape": "disc",
                    "diameter_mm": f"{diameter_mm:g}",
                    "arm_mm": f"{arm_mm:g}",
                    "cure_h": "168",
                    "outcome": "broke",
                    f"load_{unit}": f"{load_n / newton:.3g}",
                }
                if limit_n is not None and load_n > limit_n:
                    row |= {"outcome": "held", f"load_{unit}": f"{limit_n / newton:.4g}"}
                if step_n is not None:
                    steps = math.ceil(load_n / step_n)
                    row |= {"outcome": "step", f"load_{unit}": f"{steps * step_n / newton:.5g}"}
                    row[f"held_{unit}"] = f"{(steps - 1) * step_n / newton:.5g}"
                rows.append(row)
    return rows


MOUNTS = ("diameter_mm", "length_mm", "worst_catch", "end", "verdict", "margin_lower", "hours", "top_rpm", "proofed",
          "removal")  # fmt: skip
MOST_MOUNTS = 14


def mounts_of(rng: np.random.Generator) -> list[dict[str, str]]:
    """Mounts of one shop, as they went: a heavier catch on a smaller margin ends badly more often."""
    rows = []
    for _ in range(int(rng.integers(6, MOST_MOUNTS))):
        diameter_mm = float(rng.choice([120, 150, 180, 220, 250, 300, 340, 400]))
        catch = str(rng.choice(["", "light", "firm", "severe"], p=[0.45, 0.3, 0.18, 0.07]))
        margin = round(float(np.exp(rng.normal(0.6, 0.4))), 2)
        strain = {"": 0.0, "light": 0.2, "firm": 0.6, "severe": 1.2}[catch] / margin
        drawn = rng.uniform()
        bad = "let_go" if drawn < 0.2 * strain else "joint_opened" if drawn < 0.4 * strain else "near_miss"
        end = bad if drawn < strain else "" if drawn > 0.95 else "finished"
        row = {
            "diameter_mm": repr(diameter_mm),
            "length_mm": repr(float(rng.choice([60, 80, 100, 120]))),
            "worst_catch": catch,
            "end": end,
            "verdict": "pass" if margin >= 1.5 else "undecided",
            "margin_lower": repr(margin),
            "hours": repr(round(float(rng.gamma(2.0, 1.2)), 1)),
            "removal": str(rng.choice(["parted", "sawn", "split"])) if end in ("finished", "near_miss") else "",
        }
        rows.append({name: row.get(name, "") for name in MOUNTS})
    return sorted(rows, key=lambda row: tuple(row.values()))


def make() -> None:
    """Write every shop's tables."""
    (FOLDER / "mounts").mkdir(parents=True, exist_ok=True)
    for number, shop in enumerate(SHOPS):
        rows = rows_of(shop, np.random.default_rng([SEED, number]))
        with (FOLDER / f"{shop[0]}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
        mounts = mounts_of(np.random.default_rng([SEED, number, 1]))
        with (FOLDER / "mounts" / f"{shop[0]}.csv").open("w", encoding="utf-8", newline="") as file:
            table = csv.DictWriter(file, MOUNTS, lineterminator="\n")
            table.writeheader()
            table.writerows(mounts)


if __name__ == "__main__":
    make()
