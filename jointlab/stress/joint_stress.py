"""What one pull says of the joint's strength, as an interval of stress."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.record.vocabulary import BrokeAt, SubstrateKind


@dataclass(frozen=True, slots=True)
class JointStress:
    """Bounds on the stress at which a joint fails [MPa], on the outline of its bond.

    Parameters
    ----------
    batch, specimen
        The pull it comes from.
    lower_mpa, upper_mpa
        Equal: exact. ``upper_mpa`` None: it held (right-censored). ``lower_mpa`` 0: broken before or below the upper
        end (left-censored). Otherwise it broke between two load steps.
    u_mpa
        Standard uncertainty of the reading, to first order [MPa].
    cap_mpa, load_step_mpa
        Limit and step of the rig at this joint [MPa]; None when not recorded.
    handled
        It broke when handled, before a load was read.
    carries_information
        False: nothing is known of its strength (handled, and the break was outside the joint).
    substrate_kind
        What the glue was put on, where it was recorded.
    broke_at
        Where it let go, where it was recorded.
    """

    batch: str
    specimen: str
    lower_mpa: float
    upper_mpa: float | None
    u_mpa: float
    cap_mpa: float | None = None
    load_step_mpa: float | None = None
    handled: bool = False
    carries_information: bool = True
    substrate_kind: SubstrateKind | None = None
    broke_at: BrokeAt | None = None

    @property
    def exact(self) -> bool:
        """Whether the stress at failure itself was seen."""
        return self.lower_mpa == self.upper_mpa
