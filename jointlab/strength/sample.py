"""The sample: strengths of one combination under one action, with their censoring and their batches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.stress.joint_stress import JointStress

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class StrengthSample:
    """Usable strengths [MPa], one entry a pull, in the order given. Censoring is a property of the data.

    Parameters
    ----------
    lower_mpa, upper_mpa
        Shape (n,). Equal: exact; ``upper`` infinite: held (right-censored); ``lower`` 0: left-censored; else interval.
    batch
        Shape (n,): number of the glue-up, 0 .. batches - 1.
    batch_names
        Names of the glue-ups by number.
    cap_mpa, load_step_mpa
        Shape (n,): the rig's limit (infinite where none is known) and its load step (0 where none is known).
    handled
        Shape (n,): broke when handled.
    """

    lower_mpa: FloatArray
    upper_mpa: FloatArray
    batch: IntArray
    batch_names: tuple[str, ...]
    cap_mpa: FloatArray
    load_step_mpa: FloatArray
    handled: npt.NDArray[np.bool_]

    def __post_init__(self) -> None:
        for name in ("lower_mpa", "upper_mpa", "batch", "cap_mpa", "load_step_mpa", "handled"):
            getattr(self, name).setflags(write=False)

    @property
    def n(self) -> int:
        """Number of usable pulls."""
        return int(self.lower_mpa.size)

    @property
    def batches(self) -> int:
        """Number of glue-ups."""
        return len(self.batch_names)

    @property
    def exact(self) -> npt.NDArray[np.bool_]:
        """Which strengths were seen exactly."""
        return np.equal(self.lower_mpa, self.upper_mpa)

    @property
    def held(self) -> npt.NDArray[np.bool_]:
        """Which did not break (right-censored)."""
        return np.isinf(self.upper_mpa)

    @property
    def complete(self) -> bool:
        """Whether every strength was seen exactly."""
        return bool(self.exact.all())

    @classmethod
    def of_stresses(cls, stresses: Iterable[JointStress]) -> StrengthSample:
        """The usable stresses of one combination under one action; those carrying no information are left out."""
        usable = [stress for stress in stresses if stress.carries_information]
        names = tuple(dict.fromkeys(stress.batch for stress in usable))
        number = {name: index for index, name in enumerate(names)}
        return cls(
            lower_mpa=np.array([stress.lower_mpa for stress in usable], dtype=np.float64),
            upper_mpa=np.array([np.inf if s.upper_mpa is None else s.upper_mpa for s in usable], dtype=np.float64),
            batch=np.array([number[stress.batch] for stress in usable], dtype=np.int64),
            batch_names=names,
            cap_mpa=np.array([np.inf if s.cap_mpa is None else s.cap_mpa for s in usable], dtype=np.float64),
            load_step_mpa=np.array([s.load_step_mpa or 0.0 for s in usable], dtype=np.float64),
            handled=np.array([stress.handled for stress in usable], dtype=np.bool_),
        )

    @classmethod
    def of_intervals(
        cls,
        lower_mpa: Sequence[float] | FloatArray,
        upper_mpa: Sequence[float] | FloatArray,
        *,
        batch: Sequence[int] | IntArray | None = None,
    ) -> StrengthSample:
        """A sample of intervals [MPa]: equal ends exact, infinite upper end held, zero lower end left-censored."""
        lower = np.array(lower_mpa, dtype=np.float64)
        number = (
            np.zeros(lower.size, np.int64) if batch is None else np.unique(np.asarray(batch), return_inverse=True)[1]
        )
        return cls(
            lower_mpa=lower,
            upper_mpa=np.array(upper_mpa, dtype=np.float64),
            batch=number.astype(np.int64),
            batch_names=tuple(f"batch {index + 1}" for index in range(int(number.max(initial=-1)) + 1)),
            cap_mpa=np.full(lower.size, np.inf),
            load_step_mpa=np.zeros(lower.size),
            handled=np.zeros(lower.size, np.bool_),
        )

    @classmethod
    def of_values(
        cls, strength_mpa: Sequence[float] | FloatArray, *, batch: Sequence[int] | IntArray | None = None
    ) -> StrengthSample:
        """A complete sample: every strength [MPa] seen exactly."""
        return cls.of_intervals(strength_mpa, strength_mpa, batch=batch)
