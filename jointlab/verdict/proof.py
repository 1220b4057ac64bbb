"""Proof of the real mount: one slow pull that asks of every link a stated number of times what the catch would."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.errors import InputError, Problem
from jointlab.mount.bond import bonded_section
from jointlab.mount.demand import Actions
from jointlab.mount.mount_demand import mount_demand
from jointlab.mount.setup import MountSetup
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.assessment import CATCH_CASES

SOURCE = "judgement"

DIRECTIONS = 4
HOLD_S = 10.0
"""Directions, a quarter turn apart, and how long each is held (``SOURCE``)."""

DAMAGE_SHARE = 0.70
"""Share of the estimated mean strength above which a proof may harm the joint it proves (``SOURCE``)."""


@dataclass(frozen=True, slots=True)
class ProofPlan:
    """How to proof-load a mount so that moment and torque act together, in the proportion of the catch.

    Parameters
    ----------
    factor
        Times the named catch.
    force_n
        Pull on the bar, at right angles to it and to the axis.
    height_mm
        Height of the bar above the glue line, fixed to waste wood of the blank.
    arm_mm
        From the lathe's axis to the line of pull, along the bar.
    actions
        What the pull asks of the glue line; each at least ``factor`` times the catch's.
    tension_mpa
        Tension it brings to the glue line.
    steps, cautions
        What to do, in order, and what to mind.
    supports_pass
        Whether a survivor counts: the factor reaches the required margin.
    harms
        Sentence saying that the proof may harm the joint; None when it stays below or nothing is known.
    """

    factor: float
    force_n: float
    height_mm: float
    arm_mm: float
    actions: Actions
    tension_mpa: float
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    supports_pass: bool
    harms: str | None


def proof_plan(
    setup: MountSetup, *, factor: float | None = None, height_mm: float | None = None, mean_mpa: float | None = None
) -> ProofPlan:
    """The pull that proofs a mount at ``factor`` times its chosen catch.

    Moment, side force and torque of the catch's worst point all act at once. The pull away from the plate, which a bar
    cannot give, is made up by moment: N Z / A. ``SOURCE``; mechanics (derived).

    Parameters
    ----------
    factor
        Times the named catch; the required margin when None. A smaller one supports no pass.
    height_mm
        Height of the bar above the glue line; None: where the side force comes out just as asked, within the blank.
    mean_mpa
        Estimated mean strength of the joint in tension, to say whether the proof may harm it.

    Raises
    ------
    InputError
        The factor is below 1, or the bar stands outside the blank.
    """
    times = setup.criteria.margin if factor is None else factor
    _check(setup, times, height_mm)
    moment_nmm, side_n, torque_nmm = (times * once for once in _asked_once(setup))
    section = bonded_section(setup.joint)
    bar_mm = min(moment_nmm / side_n, float(setup.blank.length_mm)) if height_mm is None else height_mm
    force_n = max(side_n, moment_nmm / bar_mm)
    arm_mm = torque_nmm / force_n
    tension_mpa = force_n * bar_mm / float(section.turning_mm3)
    return ProofPlan(
        factor=times,
        force_n=force_n,
        height_mm=bar_mm,
        arm_mm=arm_mm,
        actions=Actions(force_n * bar_mm, force_n, force_n * arm_mm, 0.0),
        tension_mpa=tension_mpa,
        steps=_steps(force_n, bar_mm, arm_mm),
        cautions=CAUTIONS,
        supports_pass=times >= setup.criteria.margin,
        harms=_harms(tension_mpa, mean_mpa),
    )


def _asked_once(setup: MountSetup) -> tuple[float, float, float]:
    """Moment [N mm], side force [N] and torque [N mm] of the named catch, its pull away made up by moment."""
    case = CATCH_CASES[setup.criteria.catch]
    asked = next(found for found in mount_demand(setup).cases if found.case is case).actions
    section = bonded_section(setup.joint)
    lifting_nmm = float(asked.axial_n) * float(section.turning_mm3 / section.area_mm2)
    return float(asked.moment_nmm) + lifting_nmm, float(asked.shear_n), float(asked.torque_nmm)


def factor_reached(setup: MountSetup, *, force_n: float, height_mm: float, arm_mm: float) -> float:
    """Times the named catch that a pull on a bar came to: the least of moment, side force and torque.

    Moment and torque act at once; where one of them falls short of the catch's proportion, the whole does.

    Parameters
    ----------
    force_n
        Pull on the bar, at right angles to it and to the axis.
    height_mm
        Height of the bar above the glue line.
    arm_mm
        From the axis to the line of pull.

    Raises
    ------
    InputError
        One of them is not greater than 0, or the bar stands outside the blank.
    """
    given = {"force_n": force_n, "height_mm": height_mm, "arm_mm": arm_mm}
    problems = [
        Problem("must be greater than 0", column=name, value=f"{value:g}", allowed="greater than 0")
        for name, value in given.items()
        if not value > 0.0
    ]
    if problems:
        raise InputError(problems, subject="the proof")
    _check(setup, 1.0, height_mm)
    moment_nmm, side_n, torque_nmm = _asked_once(setup)
    shares = (force_n * height_mm / moment_nmm, force_n / side_n, force_n * arm_mm / torque_nmm)
    return float(min(shares))


def _check(setup: MountSetup, factor: float, height_mm: float | None) -> None:
    problems = []
    if factor < 1.0:
        problems.append(Problem("must be at least 1", column="factor", value=f"{factor:g}", allowed="at least 1"))
    if height_mm is not None and not 0.0 < height_mm <= float(setup.blank.length_mm):
        allowed = f"greater than 0 and at most the blank's length, {float(setup.blank.length_mm):g}"
        problems.append(Problem(f"must be {allowed}", column="height_mm", value=f"{height_mm:g}", allowed=allowed))
    if problems:
        raise InputError(problems, subject="the proof")


def _harms(tension_mpa: float, mean_mpa: float | None) -> str | None:
    if mean_mpa is None or tension_mpa <= DAMAGE_SHARE * mean_mpa:
        return None
    return (
        f"The proof brings {tension_mpa:.3g} MPa, over {100.0 * DAMAGE_SHARE:.0f} % of the estimated mean strength "
        f"({mean_mpa:.3g} MPa): it may harm the joint it proves."
    )


def _steps(force_n: float, height_mm: float, arm_mm: float) -> tuple[str, ...]:
    kilograms = force_n / STANDARD_GRAVITY_M_S2
    return (
        "Clamp the faceplate in a vise. Never react on the spindle lock or an index pin, nor in the direction that "
        "unscrews the plate.",
        f"Fix a bar to waste wood of the blank, {height_mm:.0f} mm above the glue line, across the axis.",
        f"Pull slowly on the bar, {arm_mm:.0f} mm from the axis and at right angles to it, up to {force_n:.0f} N "
        f"({kilograms:.1f} kgf), and hold {HOLD_S:.0f} s.",
        f"Do it in {DIRECTIONS} directions a quarter turn apart.",
        "Look at the joint under raking light after each. A tick, a line or a gap: the mount has failed its proof.",
        "Then use the tailstock all the same. It held in those directions on that day.",
    )


CAUTIONS = (
    "A bent bar or stretched strap gives back all it holds at once: stand aside, never in line with it.",
    "Eyes protected, fingers out of the gap, the blank caught or tethered.",
    "Not on the lathe; if the lathe must hold it, pull its plug first.",
)
"""What to mind during a proof (source: trade)."""
