"""How much the answer hangs on each assumption of the demand: python reports/mount/study.py [FOLDER].

One mount of a bowl blank, all assumptions at the ends of their ranges one by one, then all drawn together.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np

from jointlab.mount.demand import Case, MountDemand
from jointlab.mount.sensitivity import Study, Swing, study_of, swings_of
from jointlab.mount.setup import MountSetup
from jointlab.mount.setup_of import setup_of
from jointlab.publish.drawing import ImageForm
from jointlab.publish.swings_figure import swings_figure
from jointlab.sources import SOURCES
from jointlab.verdict.rule import Interaction, usage

SEED = 20261125
DRAWS = 100_000
TENSION_MPA, SHEAR_MPA = 2.0, 0.7

MOUNT = {
    "blank": {"diameter_mm": 300, "length_mm": 100, "density_kg_m3": 616, "offset_mm": 2},
    "joint": {"glue": "any", "substrate": "hardwood", "shape": "disc", "diameter_mm": 150, "age_h": 168},
    "block": {"thickness_mm": 38},
    "lathe": {"rpm": 600, "motor_w": 1100, "rotor_kg_m2": 0.020},
}


def used_up(_: MountSetup, demand: MountDemand) -> Any:
    """Share of the glue line's strength used up by a severe catch: 1 / margin."""
    (link,) = [link for link in demand.links if link.link == "glue_line" and link.case is Case.CATCH_SEVERE]
    points = link.over_points
    used = usage(
        points.tension_mpa,
        points.shear_mpa,
        tension_strength_mpa=TENSION_MPA,
        shear_strength_mpa=SHEAR_MPA,
        interaction=Interaction.QUADRATIC,
    )
    return np.max(used, axis=0)


def table(swings: tuple[Swing, ...], study: Study) -> str:
    """The report in words and figures."""
    rank = {one.name: value for one, value in zip(study.assumptions, study.rank_correlation, strict=True)}
    rows = [
        f"| {swing.assumption.name} | {swing.assumption.low:g} to {swing.assumption.high:g} | {swing.at_low:.3f} | "
        f"{swing.at_high:.3f} | {rank[swing.assumption.name]:+.2f} | {SOURCES[swing.assumption.source].standing} |"
        for swing in swings
    ]
    low, middle, high = (study.quantile(share) for share in (0.05, 0.5, 0.95))
    return "\n".join(
        [
            "# What the answer hangs on",
            "",
            "A blank of 300 x 100 mm on a 150 mm hardwood disc (2.0 MPa tension, 0.7 MPa shear relied on), 600 rpm,",
            "1.1 kW, no tailstock, severe catch. The measure is the share of the glue line's strength used up,",
            f"1 / margin; as assumed now it is {swings[0].stands:.3f}, margin {1 / swings[0].stands:.2f}.",
            "",
            "![Swings](sensitivity.png)",
            "",
            "| assumption | range | used up at low | at high | rank correlation, all drawn | standing |",
            "| --- | --- | --- | --- | --- | --- |",
            *rows,
            "",
            f"All drawn together, {DRAWS} draws, each evenly over its range: the margin is {1 / high:.2f} /",
            f"{1 / middle:.2f} / {1 / low:.2f} at the 5, 50 and 95 % points.",
            "",
            f"Made by `python reports/mount/study.py`, seed {SEED}, 2026-11-25.",
            "",
        ]
    )


def main(folder: Path) -> None:
    """Compute, draw and write."""
    setup = setup_of(MOUNT)
    swings = swings_of(setup, measure=used_up)
    study = study_of(setup, rng=np.random.default_rng(SEED), draws=DRAWS, measure=used_up)
    image = swings_figure(swings, label="share of the strength used up (1 / margin)", form=ImageForm.PNG)
    (folder / "sensitivity.png").write_bytes(image)
    (folder / "sensitivity.md").write_text(table(swings, study), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
