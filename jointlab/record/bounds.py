"""The one place where a break becomes bounds on the joint's strength."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.record.pull import Pull
from jointlab.record.vocabulary import OUTSIDE_THE_JOINT, Outcome


@dataclass(frozen=True, slots=True)
class LoadBounds:
    """What a pull says of the load at which its joint fails: more than ``lower``, at most ``upper``.

    Newtons, or newton metres for a twist. ``upper`` None: it held (right-censored). ``lower`` 0: it was broken before
    or below ``upper`` (left-censored). Equal: an exact failure load. ``carries_information`` False: nothing is known.
    """

    lower: float
    upper: float | None
    carries_information: bool = True

    @property
    def exact(self) -> bool:
        """Whether the failure load itself was seen."""
        return self.lower == self.upper


def load_bounds(pull: Pull) -> LoadBounds:
    """Bounds on the failure load of the joint, taken as one chain whichever of its links let go.

    A break in the wood, a ply, paper or glue is a failure of the joint. Screws, jaws, bar and rig are outside it: when
    they let go, the joint held what it had carried until then.
    """
    load, held = pull.loading.load, pull.loading.held
    outside = pull.broke.broke_at in OUTSIDE_THE_JOINT
    match pull.outcome:
        case Outcome.BROKE:
            return LoadBounds(load, None) if outside else LoadBounds(load, load)
        case Outcome.HELD:
            return LoadBounds(load, None)
        case Outcome.STEP:
            assert held is not None  # the door refuses a step without its last load held
            return LoadBounds(held, None) if outside else LoadBounds(held, load)
        case Outcome.HANDLED:
            return LoadBounds(0.0, None, carries_information=False) if outside else LoadBounds(0.0, load)
