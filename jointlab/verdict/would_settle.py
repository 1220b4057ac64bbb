"""What would settle an undecided mount or make it pass: found by solving with the verdict's own margins.

Every way is tried as it would be applied, so it holds exactly when applied.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import MountSetup, Tailstock
from jointlab.record.joint import Disc, Outline, Rectangle, Ring
from jointlab.verdict.assessed import assessed, mount_capacity
from jointlab.verdict.assessment import Assessment, assess
from jointlab.verdict.evidence import Evidence
from jointlab.verdict.values import WayOut

SPEED_STEP_RPM = 10.0
REACH_STEP_MM = 5.0
MOST_SCREWS = 16
"""Steps in which speeds and reaches are offered, and the most screws one plate is asked to take (source: judgement)."""

LEAST_REACH_SHARE = 0.25
"""A reach cut down to less than this share of the wished one is no way to turn the blank: not offered (judgement)."""

ROUNDING_SLACK = 1e-9
"""Tenths of a millimetre by which floating point may overshoot a whole one (derived from its 15 figures)."""

CENTRE_ROOM_MM = 25.0
"""Cutting nearer to the axis than this leaves no room for a tail centre: the tailstock is not offered (judgement)."""


@dataclass(frozen=True, slots=True)
class _Change:
    """A mount changed in one or more settings, and how that is said."""

    setup: MountSetup
    told: tuple[str, ...] = ()
    setting: tuple[tuple[str, float | str], ...] = ()

    def then(self, setup: MountSetup, told: str, *setting: tuple[str, float | str]) -> _Change:
        return _Change(setup, (*self.told, told), (*self.setting, *setting))


def ways_out(setup: MountSetup, evidence: Evidence) -> tuple[WayOut, ...]:
    """Changes of the mount, each the smallest of its kind, by which every rated link reaches the required margin.

    Size of the joint, reach, speed, tailstock throughout, number of screws, each alone; where none does it alone, size
    or reach after a tailstock or more screws. A ring is never offered for a disc, nor a tailstock for hollowing.
    """
    if _meets(assessed(setup, evidence), setup):
        return ()
    start = _Change(setup)
    alone = [*_sizes(start, evidence), *_tailstock(start), *_screws(start, evidence)]
    found = [change for change in alone if _meets(assessed(change.setup, evidence), change.setup)]
    if not found:
        found = list(_after_others(start, evidence))
    return tuple(WayOut(_sentence(change), change.setting) for change in found)


def _meets(assessment: Assessment, setup: MountSetup) -> bool:
    return assessment.margin_lower is not None and assessment.margin_lower >= setup.criteria.margin


def _sentence(change: _Change) -> str:
    return f"{' and '.join(change.told)}: every rated link then keeps margin {change.setup.criteria.margin:g}."


def _after_others(start: _Change, evidence: Evidence) -> Iterator[_Change]:
    helped = [*_tailstock(start), *_screws(start, evidence)]
    helped += [change for first in _tailstock(start) for change in _screws(first, evidence)]
    for first in helped:
        found = [first, *_sizes(first, evidence)]
        met = [change for change in found if _meets(assessed(change.setup, evidence), change.setup)]
        if met:
            yield from met[:2]
            return


def _sizes(start: _Change, evidence: Evidence) -> Iterator[_Change]:
    for solve in (_larger_joint, _shorter_reach, _slower):
        change = solve(start, evidence)
        if change is not None:
            yield change


def _least_step(steps: int, meets: Callable[[int], bool]) -> int | None:
    """Smallest step in 1..steps that meets the margin, larger steps meeting it too; None when the last does not."""
    if steps < 1 or not meets(steps):
        return None
    low, high = 0, steps
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if meets(middle) else (middle, high)
    return high


def _larger_joint(start: _Change, evidence: Evidence) -> _Change | None:
    outline, limit_mm = start.setup.joint.outline, float(start.setup.blank.diameter_mm)

    def grown(step: int) -> MountSetup:
        return replace(start.setup, joint=replace(start.setup.joint, outline=_grown(outline, step)))

    step = _least_step(_growing_steps(outline, limit_mm), lambda step: _holds(grown(step), evidence))
    if step is None:
        return None
    larger = _grown(outline, step)
    sizes = _sizes_of(larger)
    told = " x ".join(f"{size:g}" for size in sizes.values())
    keys = tuple((f"joint.{name}", size) for name, size in sizes.items())
    word = "A joint" if not start.told else "a joint"
    return start.then(grown(step), f"{word} of {told} mm ({outline.shape}) in place of {_size_told(outline)} mm", *keys)


def _growing_steps(outline: Outline, limit_mm: float) -> int:
    largest = max(_sizes_of(outline).values())
    return max(0, math.floor(limit_mm) - math.floor(largest))


def _grown(outline: Outline, step: int) -> Outline:
    """The outline larger by whole millimetres: a ring keeps its hole, a rectangle its proportion."""
    match outline:
        case Disc(diameter_mm):
            return Disc(float(math.floor(diameter_mm) + step))
        case Ring(diameter_mm, hole_mm):
            return Ring(float(math.floor(diameter_mm) + step), hole_mm)
        case Rectangle(width_mm, depth_mm):
            longest = max(width_mm, depth_mm)
            share = (math.floor(longest) + step) / longest
            return Rectangle(_tenth_up(width_mm * share), _tenth_up(depth_mm * share))


def _tenth_up(length_mm: float) -> float:
    """The next tenth of a millimetre up, a floating number's last digits not counting as one more."""
    return math.ceil(10.0 * length_mm - ROUNDING_SLACK) / 10.0


def _sizes_of(outline: Outline) -> dict[str, float]:
    if isinstance(outline, Rectangle):
        return {"width_mm": outline.width_mm, "depth_mm": outline.depth_mm}
    return {"diameter_mm": outline.diameter_mm}


def _size_told(outline: Outline) -> str:
    return " x ".join(f"{size:g}" for size in _sizes_of(outline).values())


def _holds(setup: MountSetup, evidence: Evidence) -> bool:
    return _meets(assessed(setup, evidence), setup)


def _shorter_reach(start: _Change, evidence: Evidence) -> _Change | None:
    reach_mm = float(start.setup.work.reach_mm)
    longest = math.ceil(reach_mm / REACH_STEP_MM)
    steps = longest - max(1, math.ceil(LEAST_REACH_SHARE * reach_mm / REACH_STEP_MM))

    def reach_at(step: int) -> float:
        return REACH_STEP_MM * (longest - step)

    def shortened(step: int) -> MountSetup:
        return replace(start.setup, work=replace(start.setup.work, reach_mm=reach_at(step)))

    step = _least_step(steps, lambda step: _holds(shortened(step), evidence))
    if step is None:
        return None
    word = "Cutting" if not start.told else "cutting"
    told = f"{word} no further than {reach_at(step):g} mm from the glue line in place of {reach_mm:g} mm"
    return start.then(shortened(step), told, ("work.reach_mm", reach_at(step)))


def _slower(start: _Change, evidence: Evidence) -> _Change | None:
    lathe = start.setup.lathe
    speed_rpm, base_rpm = float(lathe.speed_rpm), float(lathe.base_rpm)
    steps = math.floor((speed_rpm - base_rpm) / SPEED_STEP_RPM)
    highest = math.ceil(speed_rpm / SPEED_STEP_RPM) * SPEED_STEP_RPM

    def slowed(step: int) -> MountSetup:
        return replace(start.setup, lathe=replace(lathe, speed_rpm=highest - step * SPEED_STEP_RPM))

    step = _least_step(steps, lambda step: _holds(slowed(step), evidence))
    if step is None:
        return None
    chosen = highest - step * SPEED_STEP_RPM
    word = "No" if not start.told else "no"
    told = f"{word} more than {chosen:g} rpm in place of {speed_rpm:g}"
    return start.then(slowed(step), told, ("lathe.rpm", chosen))


def _tailstock(start: _Change) -> Iterator[_Change]:
    """The tailstock throughout, where it is not known to come away and the cut leaves room for its centre."""
    setup = start.setup
    if setup.support.tailstock is not Tailstock.NONE or float(setup.work.min_radius_mm) < CENTRE_ROOM_MM:
        return
    distance_mm = float(setup.support.tailstock_mm) or float(setup.blank.length_mm)
    support = replace(setup.support, tailstock=Tailstock.THROUGHOUT, tailstock_mm=distance_mm)
    told = "The tailstock up throughout (outside work only: hollowing needs it away, and then this does not count)"
    yield start.then(replace(setup, support=support), told, ("support.tailstock", "throughout"))


def _screws(start: _Change, evidence: Evidence) -> Iterator[_Change]:
    """As many screws as bring their own link to the margin, when they miss it."""
    setup, screws = start.setup, start.setup.screws
    if screws is None:
        return

    def with_count(count: int) -> MountSetup:
        return replace(setup, screws=replace(screws, count=count))

    def screws_hold(changed: MountSetup) -> bool:
        links = assessed(changed, evidence).links
        margin = next(link.margin_lower for link in links if link.link == "screws")
        return margin is not None and margin >= setup.criteria.margin

    if screws_hold(setup):
        return
    step = _least_step(MOST_SCREWS - screws.count, lambda step: screws_hold(with_count(screws.count + step)))
    if step is None:
        return
    count = screws.count + step
    word = "With" if not start.told else "with"
    yield start.then(with_count(count), f"{word} {count} screws in place of {screws.count}", ("screws.count", count))


MOST_SHEAR_SHARE = 10.0
"""Shear strength above which more of it is not sought, as a share of the tension (judgement)."""


def twist_way(setup: MountSetup, evidence: Evidence) -> WayOut | None:
    """The shear bound a twist test must reach to meet the margin, where shear is only a share of the tension.

    None when shear was tested, when there is no tension bound, or when no shear would be enough.
    """
    tension_mpa = evidence.tension.bound_mpa
    if evidence.shear is not None or not tension_mpa or _holds(setup, evidence):
        return None
    capacity = mount_capacity(setup, evidence)
    taken_mpa = capacity.lower.shear_mpa
    assert taken_mpa is not None
    links = mount_demand(setup).links

    def holds(step: int) -> bool:
        lower = replace(capacity.lower, shear_mpa=step / 100.0)
        return _meets(assess(links, setup=setup, capacity=replace(capacity, lower=lower)), setup)

    step = _least_step(math.ceil(100.0 * MOST_SHEAR_SHARE * tension_mpa), holds)
    if step is None:
        return None
    text = (
        f"A twist test of five joints or more like the tested ones, in two glue-ups, if its lower bound reaches "
        f"{step / 100.0:.2f} MPa: {taken_mpa:.2f} MPa is taken now, as a share of the tension."
    )
    return WayOut(text)
