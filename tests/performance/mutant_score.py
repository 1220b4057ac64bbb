"""How many of the mutants were noticed, with the interval, and a table of all."""

from __future__ import annotations

import csv
import json
from pathlib import Path

KILLED = ("killed", "timeout")


def lines_of(out: Path) -> list[dict[str, object]]:
    """What was taken down, a line a try."""
    return [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()] if out.exists() else []


def reasons_of(explained: Path) -> dict[str, str]:
    """By number why a mutant was not noticed."""
    return json.loads(explained.read_text(encoding="utf-8")) if explained.exists() else {}


def interval(killed: int, of: int) -> tuple[float, float]:
    """Clopper and Pearson's interval of a share, 95 %."""
    from scipy.stats import beta

    low = float(beta.ppf(0.025, killed, of - killed + 1)) if killed else 0.0
    high = float(beta.ppf(0.975, killed + 1, of - killed)) if killed < of else 1.0
    return low, high


EQUIVALENT = "equivalent: "
"""How the reason begins of a change that no test could notice."""


def table(out: Path, written: Path, explained: Path, rooms: tuple[str, ...]) -> None:
    """The score before and after, with what cannot be noticed counted as survived and without it, and the table."""
    reasons = reasons_of(explained)
    tries: dict[int, list[dict[str, object]]] = {}
    for line in lines_of(out):
        tries.setdefault(int(line["number"]), []).append(line)
    room = {number: str(lines[0]["file"]).split("/")[1] for number, lines in tries.items()}
    old = {number for number, lines in tries.items() if not {"code", "tests_of"} & lines[0].keys()}
    caught = {number for number in old if tries[number][0]["outcome"] in KILLED}
    kills = {number for number, lines in tries.items() if any(line["outcome"] in KILLED for line in lines)}
    same = {number for number in tries if reasons.get(str(number), "").startswith(EQUIVALENT)} - kills
    for name, noticed, of in (
        ("before", caught, old),
        ("after", kills, set(tries)),
        ("after, without the equivalent", kills, set(tries) - same),
    ):
        _tell(name, noticed, of)
        for each in rooms:
            _tell(f"  {each}", *({number for number in some if room[number] == each} for some in (noticed, of)))
    told = {number for number in tries if str(number) in reasons} - kills
    print(f"survived {len(set(tries) - kills)}: equivalent {len(same)}, explained {len(told - same)}")
    _write_table(written, tries, reasons)


def _tell(name: str, noticed: set[int], of: set[int]) -> None:
    low, high = interval(len(noticed), len(of))
    print(f"{name}: {len(noticed)} of {len(of)}, {len(noticed) / len(of):.3f} ({low:.3f} to {high:.3f})")


def _write_table(written: Path, tries: dict[int, list[dict[str, object]]], reasons: dict[str, str]) -> None:
    head = ["number", "file", "line", "operator", "before", "after", "first", "last", "by", "explanation"]
    with written.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(head)
        for number, lines in sorted(tries.items()):
            last = next((line for line in lines if line["outcome"] in KILLED), lines[-1])
            why = "" if last["outcome"] in KILLED else reasons.get(str(number), "")
            told = [lines[0][key] for key in head[:6]]
            rows.writerow([*told, lines[0]["outcome"], last["outcome"], last["by"], why])
