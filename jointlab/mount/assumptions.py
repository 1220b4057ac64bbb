"""What the demand rests on beside the mount itself: each assumption with its range, its source and its reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from jointlab.mount.setup import Amount, LoadAssumptions, MountSetup

SOURCE_JUDGEMENT = "judgement"
SOURCE_NORMAL = "iskra_hernandez"
SOURCE_MOTOR = "motor_pull_out"
SOURCE_MECHANICS = "mechanics"


@dataclass(frozen=True, slots=True)
class Assumption:
    """One assumption of the demand.

    Parameters
    ----------
    name
        In words.
    low, high
        The range in which it may honestly lie, in its own unit.
    value
        What a setup assumes now.
    changed
        The setup with another value, a number or an array.
    source
        Key of the source of the value and its range.
    reason
        Why it stands where it does.
    key
        What ``[factors]`` calls it; None for what is a key of the mount itself.
    """

    name: str
    low: float
    high: float
    value: Callable[[MountSetup], Amount]
    changed: Callable[[MountSetup, Amount], MountSetup]
    source: str
    reason: str
    key: str | None = None


def _assumed(name: str, field: str, low: float, high: float, source: str, reason: str) -> Assumption:
    def value(setup: MountSetup) -> Amount:
        amount: Amount = getattr(setup.assumptions, field)
        return amount

    def changed(setup: MountSetup, amount: Amount) -> MountSetup:
        return replace(setup, assumptions=replace(setup.assumptions, **{field: amount}))

    return Assumption(name, low, high, value, changed, source, reason, key=field)


ASSUMPTIONS: tuple[Assumption, ...] = (
    _assumed(
        "force of a severe catch [N]",
        "severe_n",
        1000.0,
        5000.0,
        SOURCE_JUDGEMENT,
        "a chip of 50 mm2 at 60 N/mm2 (resistance: kivimaa_koch); no catch of a hand-held tool was found measured",
    ),
    _assumed(
        "force of a firm catch [N]", "firm_n", 500.0, 2000.0, SOURCE_JUDGEMENT, "a chip of some 16 mm2 at 60 N/mm2"
    ),
    _assumed("force of a light catch [N]", "light_n", 150.0, 600.0, SOURCE_JUDGEMENT, "a chip of 5 mm2 at 60 N/mm2"),
    _assumed(
        "force of a heavy cut [N]", "cut_n", 100.0, 600.0, SOURCE_JUDGEMENT, "a chip of 20 mm x 0.5 mm at 40 N/mm2"
    ),
    _assumed(
        "radial over tangential force",
        "radial_share",
        0.2,
        0.6,
        SOURCE_NORMAL,
        "the normal force is 0.2 to 0.6 of the main one",
    ),
    _assumed(
        "axial pull over tangential force",
        "axial_share",
        0.0,
        0.6,
        SOURCE_NORMAL,
        "the normal force changes its sign during a cut; away from the plate is the bad one",
    ),
    _assumed(
        "peak over rated torque of the motor", "pull_out", 2.0, 3.0, SOURCE_MOTOR, "induction motors pull out near 2.5"
    ),
    _assumed(
        "sudden over slow load",
        "sudden",
        1.0,
        2.0,
        SOURCE_MECHANICS,
        "a load that comes at once does up to twice what a slow one does",
    ),
    _assumed(
        "arc over which a catch stops the blank [mm]",
        "stopping_mm",
        50.0,
        200.0,
        SOURCE_JUDGEMENT,
        "a tool, a rest and a belt give way together; nothing measured was found",
    ),
    _assumed(
        "least moment left with the tailstock up",
        "tailstock_least",
        0.28,
        1.0,
        SOURCE_JUDGEMENT,
        "a clamped joint with a propped end keeps 0.28 at six tenths of the length; a soft joint keeps more",
    ),
    Assumption(
        "offset of the centre of mass [mm]",
        0.2,
        15.0,
        lambda setup: setup.blank.offset_mm,
        lambda setup, amount: replace(setup, blank=replace(setup.blank, offset_mm=amount)),
        SOURCE_JUDGEMENT,
        "trued 0.2 to 1 mm, sawn round 2 to 5 mm, natural edge 5 to 15 mm",
    ),
    Assumption(
        "inertia of the drive's side [kg m2]",
        0.002,
        0.060,
        lambda setup: setup.lathe.rotor_kg_m2,
        lambda setup, amount: replace(setup, lathe=replace(setup.lathe, rotor_kg_m2=amount)),
        SOURCE_JUDGEMENT,
        "from a mini lathe to a heavy one; seldom known",
    ),
    Assumption(
        "speed below which the belt limits the torque [rpm]",
        150.0,
        600.0,
        lambda setup: setup.lathe.base_rpm,
        lambda setup, amount: replace(setup, lathe=replace(setup.lathe, base_rpm=amount)),
        SOURCE_JUDGEMENT,
        "belt slip or the drive's own limit; the slowest speed a cut is expected at",
    ),
    Assumption(
        "share of voids in the joint [%]",
        0.0,
        10.0,
        lambda setup: setup.joint.void_pct,
        lambda setup, amount: replace(setup, joint=replace(setup.joint, void_pct=amount)),
        SOURCE_JUDGEMENT,
        "what is bonded is seldom seen; a void is taken to lie at the rim",
    ),
)
"""Every assumption of the demand; the range is the stated one where one is stated, else a judgement."""


@dataclass(frozen=True, slots=True)
class ChangedAssumption:
    """An assumption of the loads that was set by hand: what it is, what it is now, and what it was."""

    assumption: Assumption
    value: float
    usual: float

    @property
    def beyond(self) -> bool:
        """Whether it lies outside the range in which it may honestly lie."""
        return not self.assumption.low <= self.value <= self.assumption.high


def changed_assumptions(setup: MountSetup) -> tuple[ChangedAssumption, ...]:
    """The assumptions of the loads this mount sets otherwise than the rule. One mount: no arrays."""
    usual = replace(setup, assumptions=LoadAssumptions())
    pairs = ((each, float(each.value(setup)), float(each.value(usual))) for each in ASSUMPTIONS if each.key)
    return tuple(ChangedAssumption(each, now, before) for each, now, before in pairs if now != before)
