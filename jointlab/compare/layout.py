"""How the pulls of several combinations lie over glue-ups, on the scale of ln strength."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from jointlab.compare.values import CombinationSample
from jointlab.record.joint import Combination
from jointlab.record.names import matched
from jointlab.strength.fitting import intervals

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Layout:
    """All pulls in one line, with the combination and the glue-up of each.

    Parameters
    ----------
    combinations
        One a group.
    group, block
        Shape (n,): number of the combination and of the glue-up.
    blocks
        Number of glue-ups.
    lower, upper
        Shape (n,): ends of ln strength (MPa); equal: exact, upper infinite: held, lower minus infinite: left-censored.
    limit
        Shape (n,): ln strength above which the rig would have let this pull hold; infinite where none is known.
    step_mpa
        Shape (n,): load step of the rig; 0 where none is known.
    """

    combinations: tuple[Combination, ...]
    group: IntArray
    block: IntArray
    blocks: int
    lower: FloatArray
    upper: FloatArray
    limit: FloatArray
    step_mpa: FloatArray

    @classmethod
    def of(cls, samples: Sequence[CombinationSample]) -> Layout:
        """Glue-ups of one name are one block, whichever sample they stand in."""
        names = [matched(name) for part in samples for name in part.sample.batch_names]
        number = {name: index for index, name in enumerate(dict.fromkeys(names))}
        blocks = [
            np.array([number[matched(name)] for name in part.sample.batch_names], dtype=np.int64)[part.sample.batch]
            for part in samples
        ]
        ends = [intervals(part.sample) for part in samples]
        with np.errstate(divide="ignore"):
            lower, upper = (np.log(np.concatenate([pair[side] for pair in ends])) for side in (0, 1))
            caps = np.log(np.concatenate([part.sample.cap_mpa for part in samples]))
        return cls(
            combinations=tuple(part.combination for part in samples),
            group=np.repeat(np.arange(len(samples)), [part.sample.n for part in samples]),
            block=np.concatenate(blocks),
            blocks=len(number),
            lower=lower,
            upper=upper,
            limit=_limits(lower, upper, caps),
            step_mpa=np.concatenate([part.sample.load_step_mpa for part in samples]),
        )

    @property
    def n(self) -> int:
        """Number of pulls."""
        return int(self.lower.size)

    @property
    def groups(self) -> int:
        """Number of combinations."""
        return len(self.combinations)

    @property
    def sizes(self) -> IntArray:
        """Pulls of each combination."""
        return np.bincount(self.group, minlength=self.groups).astype(np.int64)

    @property
    def complete(self) -> bool:
        """Whether every strength was seen exactly."""
        return bool(np.equal(self.lower, self.upper).all())

    @property
    def held(self) -> BoolArray:
        """Which pulls held."""
        return np.isposinf(self.upper)

    @property
    def cells(self) -> tuple[IntArray, IntArray, IntArray]:
        """Combination, glue-up and number of pulls of every pair of the two that holds any."""
        pairs, counts = np.unique(np.stack([self.group, self.block]), axis=1, return_counts=True)
        return pairs[0], pairs[1], counts.astype(np.int64)

    @property
    def glue_ups(self) -> IntArray:
        """Shape (groups,): glue-ups of each combination."""
        return np.bincount(self.cells[0], minlength=self.groups).astype(np.int64)

    @property
    def shared(self) -> bool:
        """Whether some glue-up holds pulls of several combinations."""
        return bool((np.bincount(self.cells[1]) > 1).any())

    @property
    def repeated(self) -> bool:
        """Whether some glue-up holds several pulls of one combination."""
        return bool((self.cells[2] > 1).any())

    @property
    def shares(self) -> FloatArray:
        """Shape (groups, blocks): share of each combination's pulls that lies in each glue-up."""
        group, block, count = self.cells
        table = np.zeros((self.groups, self.blocks))
        table[group, block] = count / self.sizes[group]
        return table

    @property
    def group_design(self) -> FloatArray:
        """Shape (n, groups): which combination a pull is of."""
        return np.eye(self.groups)[self.group]

    @property
    def block_design(self) -> FloatArray:
        """Shape (n, blocks): which glue-up a pull is of."""
        return np.eye(self.blocks)[self.block]

    @property
    def connected(self) -> bool:
        """Whether differences of all combinations can be seen within glue-ups."""
        both = np.hstack([self.group_design, self.block_design])
        return int(np.linalg.matrix_rank(both)) == self.groups + self.blocks - 1

    def values(self) -> list[FloatArray]:
        """Logarithms of strength by combination, complete data."""
        return [self.lower[self.group == index] for index in range(self.groups)]

    def seed(self) -> list[int]:
        """Seed from numbers and censoring pattern, never from the values: the same layout meets the same chance."""
        pattern = np.packbits(~np.equal(self.lower, self.upper))
        return [self.n, *self.sizes.tolist(), *pattern.tolist()]


def _limits(lower: FloatArray, upper: FloatArray, caps: FloatArray) -> FloatArray:
    """Limit of each pull: the load it held; else the rig's cap; else the highest load any held, if it broke below."""
    held = np.isposinf(upper)
    highest = float(lower[held].max()) if held.any() else np.inf
    below = np.where(np.isfinite(upper), upper, lower) <= highest
    stated = np.where(np.isfinite(caps), caps, np.where(below, highest, np.inf))
    return np.where(held, lower, stated)
