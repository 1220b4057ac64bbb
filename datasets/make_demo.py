"""Write the invented pulls of the demonstration: ``python datasets/make_demo.py``.

Thimblewick Turnery does not exist, and nobody pulled these joints apart. The strengths are drawn around levels that a
home shop may expect (a 50 mm disc pried at 300 mm breaks at 4 to 21 kgf), with a fixed seed, so that the file can be
made again to the byte. The files go to ``datasets/demo`` and, for the installed program, to ``jointlab/app/demo_data``.
"""

from __future__ import annotations

import csv
import io
import math
import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from statistics import NormalDist

HERE = Path(__file__).resolve().parent
DEMO = HERE / "demo"
SHIPPED = HERE.parent / "jointlab" / "app" / "demo_data"
SEED = 20260110
GRAVITY_M_S2 = 9.80665
ARM_MM = 300.0
PRY_DISC_MM = 50.0
PULL_DISC_MM = 25.0
BATCH_SPREAD = 0.05  # standard deviation of a glue-up's own level, as a share; invented

COLUMNS = (
    "batch", "specimen", "tested_on", "glue", "substrate", "blank_wood", "glue_family", "substrate_kind",
    "interlayer", "action", "grain_to_load", "shape", "diameter_mm", "void_pct", "load_kgf", "torque_nm", "arm_mm",
    "offset_mm", "outcome", "held_kgf", "wood_pct", "cohesive_pct", "adhesive_pct", "delamination_pct",
    "adhesive_side", "broke_at", "glued_on", "clamp_h", "air_c", "humidity_pct", "moisture_pct", "spread_g_m2", "rig",
    "uncertainty_pct", "cap_kgf", "cap_nm", "load_step_kgf", "excluded_because", "notes",
)  # fmt: skip

LUGGAGE_SCALE = {"rig": "luggage scale on a 300 mm bar", "uncertainty_pct": "1.5", "cap_kgf": "25"}
CRANE_SCALE = {"rig": "crane scale and turnbuckle", "uncertainty_pct": "1", "cap_kgf": "300"}
WEIGHTS = {"rig": "weights on a 300 mm bar", "uncertainty_pct": "1", "cap_kgf": "20", "load_step_kgf": "1"}
WRENCH = {"rig": "torque wrench", "uncertainty_pct": "2.5", "cap_nm": "200"}


@dataclass(frozen=True)
class Series:
    """Pulls of one combination and action: the level and spread they are drawn around [MPa], and how they break."""

    glue: str
    glue_family: str
    substrate: str
    substrate_kind: str
    action: str
    mean_mpa: float
    spread: float
    batches: tuple[str, ...]
    each: int
    mark: str
    instrument: dict[str, str]
    broke_at: tuple[str, ...]
    shares: tuple[str, ...]
    incidents: dict[tuple[str, int], dict[str, str]] = field(default_factory=dict)


GLUE_UPS = {
    "Y1": ("2026-01-10", "2026-01-17", "19", "48", "8"),
    "Y2": ("2026-01-24", "2026-01-31", "17", "55", "9"),
    "E1": ("2026-01-11", "2026-01-18", "20", "47", "8"),
    "E2": ("2026-01-25", "2026-02-01", "18", "53", "9"),
    "U1": ("2026-02-07", "2026-02-14", "18", "50", "8"),
    "U2": ("2026-02-14", "2026-02-21", "16", "57", "9"),
    "H1": ("2026-02-20", "2026-02-21", "18", "54", "9"),
}
"""Glue-up: glued on, tested on, air [C], humidity [%], moisture of the wood [%]."""

SLIPPED = {"broke_at": "bar", "outcome": "held", "notes": "the bar slipped off before anything broke"}
AT_CAP = {"outcome": "held", "notes": "scale at its limit, joint still whole"}
HANDLED = {"outcome": "handled", "notes": "came apart in the hand while the bar went on"}
VOID = {"void_pct": "15", "notes": "a gap in the core ply ran into the bond"}
KNOCKED = {"excluded_because": "clamp was knocked off while the glue was wet", "notes": "kept to be seen"}

SERIES = (
    Series(
        "yellow wood glue", "pva", "hard maple scrap", "solid_face", "pry", 4.45, 0.13, ("Y1", "Y2"), 6, "M",
        LUGGAGE_SCALE, ("substrate", "glue_line", "blank"), ("wood", "mixed", "wood"),
    ),
    Series(
        "yellow wood glue", "pva", "hard maple scrap", "solid_face", "twist", 6.4, 0.09, ("Y1", "Y2"), 3, "T",
        WRENCH, ("glue_line", "substrate"), ("mixed", "wood"),
    ),
    Series(
        "yellow wood glue", "pva", "hard maple scrap", "solid_face", "pull", 3.1, 0.14, ("Y1", "Y2"), 3, "S",
        CRANE_SCALE, ("substrate", "glue_line"), ("wood", "mixed"),
    ),
    Series(
        "yellow wood glue", "pva", "birch plywood", "plywood", "pry", 2.2, 0.17, ("Y1", "Y2"), 5, "P",
        WEIGHTS, ("substrate",), ("plies", "plies", "plies_mixed"),
        {("Y1", 4): VOID, ("Y2", 3): HANDLED},
    ),
    Series(
        "yellow wood glue", "pva", "MDF", "mdf", "pry", 0.98, 0.09, ("Y1", "Y2"), 4, "D",
        LUGGAGE_SCALE, ("substrate",), ("plies",),
    ),
    Series(
        "two-part epoxy", "epoxy", "hard maple scrap", "solid_face", "pry", 5.0, 0.11, ("E1", "E2"), 5, "M",
        LUGGAGE_SCALE, ("substrate", "blank", "glue_line"), ("wood", "wood", "cohesive"),
        {("E2", 5): SLIPPED},
    ),
    Series(
        "polyurethane glue", "polyurethane", "poplar scrap", "solid_face", "pry", 3.0, 0.15, ("U1", "U2"), 4, "P",
        LUGGAGE_SCALE, ("substrate", "glue_line"), ("wood", "mixed"),
        {("U1", 2): KNOCKED},
    ),
    Series(
        "hot melt", "hot_melt", "birch plywood", "plywood", "pry", 1.05, 0.22, ("H1",), 4, "P",
        LUGGAGE_SCALE, ("glue_line",), ("clean",),
    ),
)  # fmt: skip

SHARES = {
    "wood": {"wood_pct": "90", "adhesive_pct": "10"},
    "mixed": {"wood_pct": "55", "cohesive_pct": "15", "adhesive_pct": "30", "adhesive_side": "blank"},
    "cohesive": {"wood_pct": "40", "cohesive_pct": "50", "adhesive_pct": "10"},
    "plies": {"delamination_pct": "100"},
    "plies_mixed": {"delamination_pct": "80", "wood_pct": "10", "adhesive_pct": "10"},
    "clean": {"adhesive_pct": "95", "cohesive_pct": "5", "adhesive_side": "substrate"},
}


def drawn_normal(chance: random.Random) -> float:
    """A standard normal draw by inversion: only ``random()`` is promised to repeat between versions of Python."""
    return NormalDist().inv_cdf(0.5 / 2**53 + chance.random() * (1 - 2**-53))


def load_of(stress_mpa: float, series: Series) -> float:
    """Reading at which the joint breaks: kgf, or N m for a twist."""
    if series.action == "twist":
        return stress_mpa * math.pi * PRY_DISC_MM**3 / 16.0 / 1000.0
    if series.action == "pull":
        return stress_mpa * math.pi * PULL_DISC_MM**2 / 4.0 / (1.0 + 8.0 * 0.5 / PULL_DISC_MM) / GRAVITY_M_S2
    return stress_mpa * math.pi * PRY_DISC_MM**3 / 32.0 / ARM_MM / GRAVITY_M_S2


def loading(series: Series, load: float, incident: dict[str, str]) -> dict[str, str]:
    """The cells of the load, as the instrument shows it."""
    if series.action == "twist":
        return {"torque_nm": f"{load:.0f}", "outcome": "broke"}
    cells = {"pry": {"arm_mm": "300"}, "pull": {"offset_mm": "0.5"}}[series.action]
    if incident is HANDLED:
        return {**cells, "load_kgf": "1"}
    if load >= float(series.instrument["cap_kgf"]):
        return {**cells, "load_kgf": series.instrument["cap_kgf"], **AT_CAP}
    if "load_step_kgf" in series.instrument:
        held = math.floor(load)
        return {**cells, "load_kgf": f"{held + 1}", "held_kgf": f"{held}", "outcome": "step"}
    return {**cells, "load_kgf": f"{load:.0f}" if series.action == "pull" else f"{load:.1f}", "outcome": "broke"}


def pulls_of(series: Series, levels: dict[str, float], chance: random.Random) -> Iterator[dict[str, str]]:
    """The rows of one series."""
    for batch in series.batches:
        glued_on, tested_on, air_c, humidity_pct, moisture_pct = GLUE_UPS[batch]
        for number in range(1, series.each + 1):
            incident = series.incidents.get((batch, number), {})
            level = series.mean_mpa * levels[batch] * (0.72 if incident in (VOID, KNOCKED) else 1.0)
            load = load_of(level * math.exp(series.spread * drawn_normal(chance)), series)
            turn = number + series.batches.index(batch)
            row = {
                "batch": batch,
                "specimen": f"{series.mark}{number}",
                "tested_on": tested_on,
                "glue": series.glue,
                "substrate": series.substrate,
                "blank_wood": "cherry",
                "glue_family": series.glue_family,
                "substrate_kind": series.substrate_kind,
                "interlayer": "none",
                "action": series.action,
                "grain_to_load": "mixed" if series.action == "twist" else "across",
                "shape": "disc",
                "diameter_mm": f"{PULL_DISC_MM if series.action == 'pull' else PRY_DISC_MM:.0f}",
                "glued_on": glued_on,
                "clamp_h": "0.02" if series.glue_family == "hot_melt" else "12",
                "air_c": air_c,
                "humidity_pct": humidity_pct,
                "moisture_pct": moisture_pct,
                "spread_g_m2": "" if series.glue_family == "hot_melt" else "180",
                "broke_at": series.broke_at[turn % len(series.broke_at)],
                **SHARES[series.shares[turn % len(series.shares)]],
                **series.instrument,
                **loading(series, load, incident),
                **incident,
            }
            if row["outcome"] == "held":
                row = {name: cell for name, cell in row.items() if name not in OF_THE_BREAK}
                row["broke_at"] = incident.get("broke_at", "")
            row["notes"] = "; ".join(part for part in ("invented", row.get("notes", "")) if part)
            yield row


OF_THE_BREAK = ("wood_pct", "cohesive_pct", "adhesive_pct", "delamination_pct", "adhesive_side")


def demo_csv() -> str:
    """The whole file as text."""
    chance = random.Random(SEED)
    levels = {batch: math.exp(BATCH_SPREAD * drawn_normal(chance)) for batch in GLUE_UPS}
    rows = [row for series in SERIES for row in pulls_of(series, levels, chance)]
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def main() -> None:
    """Write the pulls, and copy them with the mounts to where the installed program finds them."""
    (DEMO / "pulls.csv").write_text(demo_csv(), encoding="utf-8", newline="")
    for path in sorted(DEMO.rglob("*")):
        if path.suffix in (".csv", ".toml"):
            target = SHIPPED / path.relative_to(DEMO)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)


if __name__ == "__main__":
    main()
