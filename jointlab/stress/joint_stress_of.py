"""From a pull to the stress at which its joint failed, or held."""

from __future__ import annotations

from collections.abc import Mapping

from jointlab.record.bounds import load_bounds
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import Action, Outcome
from jointlab.stress.geometry import (
    pry_stress_mpa,
    pull_stress_mpa,
    resized,
    shear_stress_mpa,
    sizes_of,
    twist_stress_mpa,
)
from jointlab.stress.joint_stress import JointStress
from jointlab.stress.uncertainty import (
    BOND_EDGE_MM,
    TAPE_MM,
    of_limits,
    propagated,
    scale_uncertainty_n,
    torque_uncertainty_nm,
)


def stress_at_mpa(pull: Pull, *, load: float) -> float:
    """Stress of the pull's joint under a load, by its action and the outline of its bond [MPa].

    Parameters
    ----------
    load
        In newtons, or newton metres for a twist.
    """
    outline, loading = pull.joint.outline, pull.loading
    match pull.action:
        case Action.PULL:
            return pull_stress_mpa(load, outline=outline, offset_mm=loading.offset_mm or 0.0)
        case Action.PRY:
            assert loading.arm_mm is not None  # the door refuses a pry without its arm
            return pry_stress_mpa(load, outline=outline, arm_mm=loading.arm_mm)
        case Action.SHEAR:
            return shear_stress_mpa(load, outline=outline)
        case Action.TWIST:
            return twist_stress_mpa(load, outline=outline)


def joint_stress_of(pull: Pull) -> JointStress:
    """Bounds on the strength of a pulled joint [MPa], on the outline of its bond, voids included.

    Stress is proportional to load, so the bounds on the load, the rig's cap and its step carry over by one factor.
    """
    bounds, loading = load_bounds(pull), pull.loading
    per_load = stress_at_mpa(pull, load=1.0)
    return JointStress(
        batch=pull.batch,
        specimen=pull.specimen,
        lower_mpa=bounds.lower * per_load,
        upper_mpa=None if bounds.upper is None else bounds.upper * per_load,
        u_mpa=stress_uncertainty_mpa(pull),
        cap_mpa=None if loading.cap is None else loading.cap * per_load,
        load_step_mpa=None if loading.load_step is None else loading.load_step * per_load,
        handled=pull.outcome is Outcome.HANDLED,
        carries_information=bounds.carries_information,
        substrate_kind=pull.joint.substrate_kind,
        broke_at=pull.broke.broke_at,
    )


def stress_uncertainty_mpa(pull: Pull) -> float:
    """Standard uncertainty of the stress at the pull's load [MPa], to first order.

    The load's own uncertainty as recorded, else that of a usual scale or wrench; the bond's edges and the arm by the
    usual limits. It describes the reading; it never narrows the spread of a sample.
    """
    load = pull.loading.load
    estimates: dict[str, float] = {"load": load, **sizes_of(pull.joint.outline)}
    uncertainties = {name: of_limits(BOND_EDGE_MM) for name in sizes_of(pull.joint.outline)}
    uncertainties["load"] = _load_uncertainty(pull)
    if pull.loading.arm_mm is not None:
        estimates["arm_mm"] = pull.loading.arm_mm
        uncertainties["arm_mm"] = of_limits(TAPE_MM)

    def stress(values: Mapping[str, float]) -> float:
        return _stress_of_values(pull, values)

    return propagated(stress, estimates=estimates, standard_uncertainties=uncertainties)


def _load_uncertainty(pull: Pull) -> float:
    load, stated_pct = pull.loading.load, pull.loading.uncertainty_pct
    if stated_pct is not None:
        return load * stated_pct / 100.0
    return torque_uncertainty_nm(load) if pull.is_twist else scale_uncertainty_n(load)


def _stress_of_values(pull: Pull, values: Mapping[str, float]) -> float:
    outline = resized(pull.joint.outline, {name: values[name] for name in sizes_of(pull.joint.outline)})
    match pull.action:
        case Action.PULL:
            return pull_stress_mpa(values["load"], outline=outline, offset_mm=pull.loading.offset_mm or 0.0)
        case Action.PRY:
            return pry_stress_mpa(values["load"], outline=outline, arm_mm=values["arm_mm"])
        case Action.SHEAR:
            return shear_stress_mpa(values["load"], outline=outline)
        case Action.TWIST:
            return twist_stress_mpa(values["load"], outline=outline)
