"""Whether a setup is one mount or many: the common shape of its numbers."""

from __future__ import annotations

from typing import Any

import numpy as np

from jointlab.mount.setup import MountSetup


def shape_of(setup: MountSetup) -> tuple[int, ...]:
    """Common shape of every number of a setup; () for one mount.

    Raises
    ------
    ValueError
        Its arrays have no common shape.
    """
    arrays = [amount.shape for amount in _amounts(setup) if isinstance(amount, np.ndarray)]
    return np.broadcast_shapes(*arrays) if arrays else ()


def is_one_mount(setup: MountSetup) -> bool:
    """Whether every number of the setup is one number: findings are sentences about one mount, not about arrays."""
    return shape_of(setup) == ()


def _amounts(setup: MountSetup) -> list[Any]:
    parts: list[Any] = [
        setup.blank,
        setup.joint.outline,
        setup.lathe,
        setup.work,
        setup.support,
        setup.assumptions,
        *setup.blank_joints,
        *([setup.screws] if setup.screws is not None else []),
    ]
    amounts = [getattr(part, name) for part in parts for name in part.__slots__]
    return [*amounts, setup.joint.void_pct, setup.block.thickness_mm]
