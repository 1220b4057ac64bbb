"""Which kind of substrate the tests and the mount are about."""

from __future__ import annotations

from jointlab.mount.setup import Grain, MountSetup
from jointlab.record.vocabulary import SubstrateKind
from jointlab.verdict.evidence import SHEAR_SHARE_PANEL, SHEAR_SHARE_SOLID, SOLID_KINDS, Evidence

_SOLID_BY_GRAIN = {
    Grain.EDGE: SubstrateKind.SOLID_EDGE,
    Grain.END: SubstrateKind.SOLID_END,
}


def kind_tested(evidence: Evidence) -> SubstrateKind | None:
    """Kind the usable pulls state; None when they state none, or more than one."""
    return evidence.kinds[0] if len(evidence.kinds) == 1 else None


def kind_mounted(setup: MountSetup) -> SubstrateKind | None:
    """Kind of the waste block: as stated, else solid wood when edge or end grain is stated; None when unknown."""
    block = setup.block
    if block.kind is None and block.grain is not Grain.FACE:
        return _SOLID_BY_GRAIN[block.grain]
    return block.kind


def kinds_of(setup: MountSetup, evidence: Evidence) -> tuple[SubstrateKind, ...]:
    """Kinds the rules of the joint go by: what the pulls state, else what the mount states."""
    mounted = kind_mounted(setup)
    return evidence.kinds or (() if mounted is None else (mounted,))


def shear_share_of(kinds: tuple[SubstrateKind, ...]) -> float:
    """Shear relied on as a share of tension when no shear was tested: the lower share if any kind is solid or unknown.

    Sources: rolling_shear (0.35 on solid and segmented wood), gougeon_laminate (0.70 on plywood and others).
    """
    panels = bool(kinds) and not any(kind in SOLID_KINDS for kind in kinds)
    return SHEAR_SHARE_PANEL if panels else SHEAR_SHARE_SOLID
