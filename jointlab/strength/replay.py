"""How the rig would have censored other strengths: what a simulated pull would have been recorded as."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.strength.sample import StrengthSample

FloatArray = npt.NDArray[np.float64]

SOURCE = "judgement"


@dataclass(frozen=True, slots=True)
class Replay:
    """The censoring each pull would have met [MPa], in one order whatever the order of the pulls; all shape (n,).

    Parameters
    ----------
    cap_mpa
        A strength above it would have held there; infinite where nothing says so.
    step_mpa, origin_mpa
        Width of the load steps and where one of them begins; width 0 where loads are read exactly.
    least_mpa
        A strength below it would have broken when handled.
    batch
        Number of the glue-up.
    """

    cap_mpa: FloatArray
    step_mpa: FloatArray
    origin_mpa: FloatArray
    least_mpa: FloatArray
    batch: npt.NDArray[np.int64]

    @classmethod
    def of(cls, sample: StrengthSample) -> Replay:
        """From the recorded cap and step where there are any, else from what the pulls show (source key judgement).

        A held pull was censored at its load. A break without a recorded cap takes the lowest load held at or above it;
        a held pull without a recorded step takes that of the broken ones, if none was read exactly.
        """
        order = np.lexsort((sample.batch, sample.upper_mpa, sample.lower_mpa))
        lower, upper = sample.lower_mpa[order], sample.upper_mpa[order]
        held, exact, left = np.isinf(upper), lower == upper, (lower == 0.0) & np.isfinite(upper) & (upper > 0.0)
        stepped = ~(held | exact | left)
        return cls(
            cap_mpa=_caps(lower, upper, sample.cap_mpa[order]),
            step_mpa=_steps(lower, upper, sample.load_step_mpa[order], stepped=stepped, held=held, exact=exact),
            origin_mpa=np.where(stepped | held, lower, 0.0),
            least_mpa=np.full(sample.n, upper[left].max(initial=0.0)),
            batch=sample.batch[order],
        )

    @property
    def pattern(self) -> tuple[int, ...]:
        """Kinds of censoring the pulls can meet, as numbers: with n they seed the simulation, the values do not."""
        kinds = np.isfinite(self.cap_mpa) + 2 * (self.step_mpa > 0.0) + 4 * (self.least_mpa > 0.0)
        return (int(self.batch.max(initial=0)) + 1, *np.sort(kinds).astype(int).tolist())

    def recorded(self, strength_mpa: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lower and upper ends [MPa] of simulated strengths of shape (runs, n); minus infinite below the least load."""
        lower, upper = strength_mpa.copy(), strength_mpa.copy()
        stepped = np.flatnonzero(self.step_mpa > 0.0)
        if stepped.size:
            step, origin = self.step_mpa[stepped], self.origin_mpa[stepped]
            count = np.ceil((strength_mpa[:, stepped] - origin) / step - 1e-9) - 1.0
            lower[:, stepped] = origin + count * step
            upper[:, stepped] = np.minimum(lower[:, stepped] + step, self.cap_mpa[stepped])
            lower[lower < 1e-9 * upper] = -np.inf
        handled = strength_mpa < self.least_mpa
        if handled.any():
            lower = np.where(handled, -np.inf, lower)
            upper = np.where(handled, self.least_mpa, upper)
        beyond = strength_mpa > self.cap_mpa
        return np.where(beyond, self.cap_mpa, lower), np.where(beyond, np.inf, upper)


def _caps(lower: FloatArray, upper: FloatArray, recorded: FloatArray) -> FloatArray:
    held = np.isinf(upper)
    loads = np.sort(lower[held])
    above = np.searchsorted(loads, np.where(held, lower, upper), side="left")
    supposed = np.append(loads, np.inf)[above]
    broke_cap = np.where(np.isfinite(recorded), np.maximum(recorded, upper), supposed)
    return np.where(held, lower, broke_cap)


def _steps(
    lower: FloatArray,
    upper: FloatArray,
    recorded: FloatArray,
    *,
    stepped: npt.NDArray[np.bool_],
    held: npt.NDArray[np.bool_],
    exact: npt.NDArray[np.bool_],
) -> FloatArray:
    usual = float(np.median((upper - lower)[stepped])) if stepped.any() and not exact.any() else 0.0
    own = np.where(stepped, upper - np.where(stepped, lower, 0.0), 0.0)
    return np.where(stepped, own, np.where(held, np.where(recorded > 0.0, recorded, usual), 0.0))
