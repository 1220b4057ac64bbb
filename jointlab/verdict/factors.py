"""Factors from test strength to service strength: each acts only on a difference between the test and the mount."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from jointlab.mount.assumptions import changed_assumptions
from jointlab.mount.demand import Case
from jointlab.mount.setup import MountSetup, Surface
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.names import matched
from jointlab.record.vocabulary import SubstrateKind
from jointlab.sources import SOURCES
from jointlab.stress.section import section_of
from jointlab.verdict.evidence import SOLID_KINDS, Evidence, Feed
from jointlab.verdict.substrate import kind_mounted, kind_tested
from jointlab.verdict.values import Factor


class Side(StrEnum):
    """Which strength a factor multiplies."""

    TENSION = "tension"
    SHEAR = "shear"


FACTOR_NAMES = ("size", "edge", "fatigue", "duration", "moisture", "cure", "surface", "grain", "operator")
"""Names of the factors; each is given for tension and for shear."""

SIZE_EXPONENT = {Side.TENSION: 0.20, Side.SHEAR: 0.07}
"""Exponent of the ratio of areas (sources: barrett_1974 gives 0.2008 in tension, gougeon_laminate less in shear)."""

FATIGUE = {Side.TENSION: 0.80, Side.SHEAR: 0.75}
"""Share left under repeated load at 1e4 to 1e5 turns, on spin and cut only (source: gougeon_fatigue)."""

LONG_MINUTES = 480.0
LONG_DURATION = 0.85
"""Share left when the load stays on for more than eight hours, on steady cases only (source: madison_curve, 0.844)."""

DRY_PCT = 12.0
GREEN_PCT = 25.0
MOISTURE_LOSS = {Side.TENSION: 0.015, Side.SHEAR: 0.025}
GREEN_SHARE = 0.8
"""Loss of wood strength for each per cent of moisture from 12 to 25 %, none gained below; a green blank keeps 0.8 of
that (source: wood_moisture)."""

PANEL_MOIST_PCT = 16.0
PANEL_MOIST_SHARE = 0.75
"""Share a panel keeps at 16 % moisture and above (source: apa_pds)."""

FULL_CURE_H = 168.0
EARLY_CURE_SHARE = 0.9
"""Share reached up to a week of cure, all above it (source: judgement)."""

SANDED_SHARE = 0.8
"""Share a sanded face keeps against a clean planed or turned one (source: judgement)."""

GRAIN_SHARE = 0.25
"""Share left when end grain meets evidence from side grain, or the other way round (source: end_grain)."""

UNLIKE_BATCH_SHARE = 0.95
"""Share relied on when the mount comes from a glue-up that was not tested (source: judgement)."""

CYCLIC_CASES = frozenset({Case.SPIN, Case.CUT})


@dataclass(frozen=True, slots=True)
class Factors:
    """Every factor for a mount, those at 1.0 too, and what could not be compared."""

    table: tuple[Factor, ...]
    findings: tuple[Finding, ...] = ()
    _products: dict[tuple[Side, Case], float] = field(init=False, repr=False, compare=False, default_factory=dict)

    def product(self, side: Side, case: Case) -> float:
        """Product of the factors that act on this strength in this case."""
        known = self._products.get((side, case))
        if known is None:
            known = math.prod(factor.value for factor in self.table if _acts(factor.name, side, case))
            self._products[side, case] = known
        return known


def _acts(name: str, side: Side, case: Case) -> bool:
    base, _, on = name.rpartition("_")
    if on != side:
        return False
    if base == "fatigue":
        return case in CYCLIC_CASES
    return case.steady if base == "duration" else True


@dataclass(frozen=True, slots=True)
class _Judged:
    """A factor before it is named: its value, why, from where; ``unknown`` names what was not stated."""

    value: float
    reason: str
    source: str = "judgement"
    unknown: str | None = None


def factors_of(setup: MountSetup, evidence: Evidence) -> Factors:
    """Factors between the tests and this mount, with the user's own in place of those named in ``[factors]``.

    Strength relied on = product of the factors x bound. Each is 1.0 unless test and mount differ in what it stands for;
    what is unknown on either side counts as equal and is named in a finding. Source: judgement, with each factor's own.
    """
    given = dict(setup.factors)
    table: list[Factor] = []
    unknown: dict[str, None] = {}
    for base in FACTOR_NAMES:
        for side in Side:
            name = f"{base}_{side}"
            judged = _judge(base, side, setup, evidence)
            stated = given.get(name, given.get(base))
            if stated is None and judged.unknown:
                unknown[judged.unknown] = None
            table.append(_named(name, judged, stated))
    return Factors(tuple(table), tuple(_findings(table, unknown)))


def changed_loads(setup: MountSetup) -> tuple[Factor, ...]:
    """The assumptions of the loads set in ``[factors]``: they change the demand, not the strength, and are told."""
    return tuple(
        Factor(
            str(each.assumption.key),
            each.value,
            SOURCES["stated"],
            f"set in the mount's own [factors]; without it {each.usual:g}: {each.assumption.reason}",
            overridden=True,
        )
        for each in changed_assumptions(setup)
    )


def _named(name: str, judged: _Judged, stated: float | None) -> Factor:
    if stated is None:
        return Factor(name, judged.value, SOURCES[judged.source], judged.reason)
    reason = f"set in the mount's own [factors]; without it {judged.value:.3g}: {judged.reason}"
    return Factor(name, stated, SOURCES["stated"], reason, overridden=True)


def _findings(table: Iterable[Factor], unknown: Iterable[str]) -> Iterator[Finding]:
    missing = list(unknown)
    if missing:
        text = f"Not compared between the tests and the mount, taken as equal: {'; '.join(missing)}."
        yield Finding(FindingCode.NOT_COMPARED, Severity.NOTE, text)
    changed = [f"{factor.name} {factor.value:g}" for factor in table if factor.overridden]
    if changed:
        text = f"Factors set by hand for this mount, not by the rule: {', '.join(changed)}."
        yield Finding(FindingCode.FACTOR_CHANGED, Severity.WARNING, text)


def _judge(base: str, side: Side, setup: MountSetup, evidence: Evidence) -> _Judged:
    feed = evidence.tension if side is Side.TENSION or evidence.shear is None else evidence.shear
    match base:
        case "size":
            return _size(side, setup, feed)
        case "edge":
            return _Judged(1.0, "the edges of test and mount are taken alike (0.8 where they are not)")
        case "fatigue":
            return _Judged(FATIGUE[side], "the load comes round at every turn: on spin and cut only", "gougeon_fatigue")
        case "duration":
            return _duration(setup)
        case "moisture":
            return _moisture(side, setup, evidence, feed)
        case "cure":
            return _cure(setup, feed)
        case "surface":
            return _surface(setup, evidence)
        case "grain":
            return _grain(setup, evidence)
        case _:
            return _operator(setup, evidence)


def _size(side: Side, setup: MountSetup, feed: Feed) -> _Judged:
    mount_mm2 = float(section_of(setup.joint.outline).area_mm2)
    exponent = SIZE_EXPONENT[side]
    source = "barrett_1974" if side is Side.TENSION else "gougeon_laminate"
    if mount_mm2 <= feed.area_mm2:
        return _Judged(1.0, "the mount's bond is no larger than the tested ones: no gain is taken", source)
    value = (feed.area_mm2 / mount_mm2) ** exponent
    reason = (
        f"a larger bond holds more weak places: ({_area_told(feed.area_mm2)} / {_area_told(mount_mm2)} mm2) to the "
        f"power {exponent:.2f}"
    )
    return _Judged(value, reason, source)


def _area_told(area_mm2: float) -> str:
    """An area to four digits, written out: 13,270, never a power of ten."""
    digits = 3 - math.floor(math.log10(area_mm2)) if area_mm2 > 0.0 else 0
    return f"{round(area_mm2, digits):,.{max(digits, 0)}f}"


def _duration(setup: MountSetup) -> _Judged:
    if setup.work.minutes > LONG_MINUTES:
        reason = f"under load for {setup.work.minutes:g} minutes, more than eight hours: on the steady cases"
        return _Judged(LONG_DURATION, reason, "madison_curve")
    return _Judged(1.0, "under load for no more than eight hours; a short load earns no bonus", "madison_curve")


def _wood_share(moisture_pct: float, side: Side) -> float:
    loss = MOISTURE_LOSS[side] * (min(max(moisture_pct, DRY_PCT), GREEN_PCT) - DRY_PCT)
    return (1.0 - loss) * (GREEN_SHARE if moisture_pct >= GREEN_PCT else 1.0)


def _block_share(moisture_pct: float, side: Side, kind: SubstrateKind | None) -> float:
    if kind is None or kind in SOLID_KINDS:
        return _wood_share(moisture_pct, side)
    return PANEL_MOIST_SHARE if moisture_pct >= PANEL_MOIST_PCT else 1.0


def _moisture(side: Side, setup: MountSetup, evidence: Evidence, feed: Feed) -> _Judged:
    blank_pct, block_pct, tested_pct = setup.blank.moisture_pct, setup.block.moisture_pct, feed.moisture_pct
    kind = kind_tested(evidence) or kind_mounted(setup)
    source = "wood_moisture" if kind is None or kind in SOLID_KINDS else "apa_pds"
    if tested_pct is None or (blank_pct is None and block_pct is None):
        lacking = "the pulls do not state it" if tested_pct is None else "the mount does not state it"
        return _Judged(1.0, f"moisture taken as equal: {lacking}", source, f"moisture ({lacking})")
    ratios = []
    if blank_pct is not None:
        ratios.append(_wood_share(blank_pct, side) / _wood_share(tested_pct, side))
    if block_pct is not None:
        ratios.append(_block_share(block_pct, side, kind) / _block_share(tested_pct, side, kind))
    stated = " and ".join(
        f"{name} {pct:g} %" for name, pct in (("blank", blank_pct), ("block", block_pct)) if pct is not None
    )
    return _Judged(min(1.0, *ratios), f"tested at {tested_pct:g} %, mounted at {stated}", source)


def _cured_share(age_h: float) -> float:
    return EARLY_CURE_SHARE if age_h <= FULL_CURE_H else 1.0


def _cure(setup: MountSetup, feed: Feed) -> _Judged:
    if feed.cure_h is None:
        return _Judged(1.0, "cure taken as equal: the pulls do not state theirs", unknown="cure (the pulls state none)")
    value = min(1.0, _cured_share(setup.joint.age_h) / _cured_share(feed.cure_h))
    return _Judged(value, f"tested after {feed.cure_h:g} h of cure, mounted after {setup.joint.age_h:g} h")


def _surface(setup: MountSetup, evidence: Evidence) -> _Judged:
    surface = setup.joint.surface
    if surface is Surface.SANDED and not evidence.sanded:
        return _Judged(SANDED_SHARE, "the mount's faces are sanded, the tested ones were not")
    if surface in (Surface.CLEAN, Surface.SANDED):
        return _Judged(1.0, "the mount's faces are no worse prepared than the tested ones")
    return _Judged(1.0, f"a {surface} face has no rating: no factor can stand for it")


def _grain(setup: MountSetup, evidence: Evidence) -> _Judged:
    tested, mounted = kind_tested(evidence), kind_mounted(setup)
    if tested is None or mounted is None:
        lacking = "the pulls do not state the substrate's kind" if tested is None else "the mount states no block kind"
        return _Judged(1.0, f"grain taken as equal: {lacking}", "end_grain", f"grain ({lacking})")
    if (tested is SubstrateKind.SOLID_END) != (mounted is SubstrateKind.SOLID_END):
        return _Judged(GRAIN_SHARE, f"tested on {tested}, mounted on {mounted}", "end_grain")
    return _Judged(1.0, f"tested on {tested}, mounted on {mounted}: grain alike", "end_grain")


def _operator(setup: MountSetup, evidence: Evidence) -> _Judged:
    batch = setup.joint.batch
    if batch is not None and matched(batch) in {matched(name) for name in evidence.batches}:
        return _Judged(1.0, f"the mount is of the tested glue-up {batch}")
    told = "names no glue-up" if batch is None else f"is of glue-up {batch}, which was not tested"
    return _Judged(UNLIKE_BATCH_SHARE, f"the mount {told}")
