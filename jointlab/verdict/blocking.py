"""Findings that only the tests and the mount together can give; a blocking one keeps a verdict from being a pass."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from jointlab.mount.setup import BlankGrain, HoldKind, MountSetup
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.vocabulary import GlueFamily, Interlayer, SubstrateKind
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS, SOLID_KINDS, Evidence
from jointlab.verdict.factors import GREEN_PCT
from jointlab.verdict.families import families_of
from jointlab.verdict.proof import DIRECTIONS, proof_plan
from jointlab.verdict.substrate import kind_mounted

LIGHT_MASS_KG = 1.0
"""Above this a blank must not hang on hot melt, tape or cyanoacrylate alone (source: judgement)."""

WEAK_ALONE = frozenset({GlueFamily.HOT_MELT, GlueFamily.TAPE, GlueFamily.CYANOACRYLATE})

TOLERATE_DAMP = frozenset({GlueFamily.POLYURETHANE})
"""Families known to bond damp wood; every other needs dry wood, and so does an unknown one (source: trade)."""

LAYERED = frozenset({SubstrateKind.PLYWOOD, SubstrateKind.OSB, SubstrateKind.PARTICLEBOARD, SubstrateKind.MDF})
"""Sheet goods, whose voids a few coupons cannot rule out."""


def evidence_findings(setup: MountSetup, evidence: Evidence, *, proofed: float | None = None) -> tuple[Finding, ...]:
    """Findings on the evidence against this mount.

    Parameters
    ----------
    proofed
        Times the named catch at which this very mount was proof-loaded and held; None: it was not.
    """
    questions: Sequence[Callable[[MountSetup, Evidence], Iterator[Finding]]] = (
        _enough,
        _held_mostly,
        _same_substrate,
        _same_interlayer,
        _sole_bond,
        _green,
        _blank_grain,
    )
    found = [finding for question in questions for finding in question(setup, evidence)]
    return (*found, *_sheet_voids(setup, evidence, proofed))


def proof_first(setup: MountSetup, evidence: Evidence, *, proofed: float | None = None) -> tuple[Finding, ...]:
    """The condition that goes with a pass on sheet goods: a proof of this very mount, with its load.

    No voids were seen, but a handful of coupons seldom shows the one that is there (measured in the study of the
    verdict): a pull on the real mount asks this block, and no other.
    """
    kinds = {*evidence.kinds, kind_mounted(setup)}
    if not any(kind in LAYERED for kind in kinds) or (proofed is not None and proofed >= setup.criteria.margin):
        return ()
    plan = proof_plan(setup)
    text = (
        "Sheet goods: proof this mount before the first cut. A deep void may be in this block and in no coupon. "
        f"{setup.criteria.margin:g} times the named catch is {plan.force_n:.0f} N "
        f"({plan.force_n / STANDARD_GRAVITY_M_S2:.0f} kgf) on a bar {plan.height_mm:.0f} mm above the glue line, "
        f"{plan.arm_mm:.0f} mm from the axis, in {DIRECTIONS} directions (jointlab mounts proof)."
    )
    return (Finding(FindingCode.PROOF_FIRST, Severity.WARNING, text),)


def mount_findings(setup: MountSetup) -> tuple[Finding, ...]:
    """Findings on links that no test and no source rates in this mount."""
    return tuple(_unrated(setup))


def no_pulls(setup: MountSetup, nearest: Sequence[str]) -> Finding:
    """There is no evidence for the mount's combination; the nearest names the shop book knows are given."""
    close = f" Nearest in the book: {'; '.join(nearest)}." if nearest else ""
    text = f"No usable pull in tension of {setup.joint.combination}: nothing is known of its strength.{close}"
    return Finding(FindingCode.NO_PULLS, Severity.BLOCKING, text)


def _enough(_setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    if evidence.n_usable < LEAST_PULLS:
        text = f"{evidence.n_usable} usable pulls: a pass needs at least {LEAST_PULLS}."
        yield Finding(FindingCode.FEW_PULLS, Severity.BLOCKING, text)
    if evidence.n_batches < LEAST_BATCHES:
        text = (
            f"All pulls that feed a strength come from {evidence.n_batches} glue-up: what differs from one glue-up to "
            f"the next was never seen. A pass needs pulls from at least {LEAST_BATCHES}."
        )
        yield Finding(FindingCode.ONE_BATCH, Severity.BLOCKING, text)


def _held_mostly(_setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    for feed in evidence.feeds:
        if 2 * feed.strength.n_held > feed.n_usable:
            text = (
                f"{feed.strength.n_held} of {feed.n_usable} usable {feed.action} tests held: too few broke to say how "
                "strong these joints are. A smaller coupon or a longer arm breaks them."
            )
            yield Finding(FindingCode.HELD_MOSTLY, Severity.BLOCKING, text)


def _same_substrate(setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    mounted = kind_mounted(setup)
    if len(evidence.kinds) > 1:
        text = f"The pulls state several kinds of substrate under one name: {', '.join(evidence.kinds)}."
        yield Finding(FindingCode.KINDS_MIXED, Severity.WARNING, text)
    if mounted is None or not evidence.kinds or mounted in evidence.kinds:
        return
    tested = ", ".join(evidence.kinds)
    if mounted is SubstrateKind.SOLID_END and any(kind in SOLID_KINDS for kind in evidence.kinds):
        text = f"The block shows end grain to the glue, the tests were made on {tested}: test end grain itself."
        yield Finding(FindingCode.END_GRAIN_ON_FACE, Severity.BLOCKING, text)
    elif not {mounted, *evidence.kinds} <= {SubstrateKind.SOLID_FACE, SubstrateKind.SOLID_EDGE}:
        text = f"The block is {mounted}, the tests were made on {tested}: they do not speak for it."
        yield Finding(FindingCode.KIND_DIFFERS, Severity.BLOCKING, text)


def _same_interlayer(setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    tested = evidence.interlayers or (Interlayer.NONE,)
    mounted = setup.joint.interlayer
    if tested != (mounted,):
        text = (
            f"The mount's joint has interlayer {mounted}, the tested ones {', '.join(tested)}: with paper or tape the "
            "stack itself must be tested, not its glue."
        )
        yield Finding(FindingCode.INTERLAYER_DIFFERS, Severity.BLOCKING, text)


def _sole_bond(setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    weak = [family for family in families_of(setup, evidence) if family in WEAK_ALONE]
    if setup.joint.interlayer is Interlayer.TAPE and GlueFamily.TAPE not in weak:
        weak.append(GlueFamily.TAPE)
    mass_kg = float(setup.blank.mass_kg)
    if weak and mass_kg > LIGHT_MASS_KG:
        text = (
            f"{', '.join(weak)} alone under a blank of {mass_kg:.3g} kg: for light, small, supported work only, up to "
            f"{LIGHT_MASS_KG:g} kg."
        )
        yield Finding(FindingCode.SOLE_BOND_WEAK, Severity.BLOCKING, text)


def _green(setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    moisture_pct = setup.blank.moisture_pct
    if moisture_pct is None or moisture_pct < GREEN_PCT:
        return
    families = families_of(setup, evidence)
    if families and all(family in TOLERATE_DAMP for family in families):
        return
    told = f"the glue ({', '.join(families)}) needs dry wood" if families else "the pulls do not name the glue's family"
    text = f"The blank is green ({moisture_pct:g} % moisture) and {told}."
    yield Finding(FindingCode.GREEN_BLANK, Severity.BLOCKING, text)


def _blank_grain(setup: MountSetup, evidence: Evidence) -> Iterator[Finding]:
    if setup.blank.grain is BlankGrain.END and evidence.kinds != (SubstrateKind.SOLID_END,):
        text = (
            "The blank shows end grain to the glue. The tests do not say which grain their blank side showed: if it "
            "was face grain, they do not speak for this mount (set grain_tension and grain_shear, or test end grain)."
        )
        yield Finding(FindingCode.NOT_COMPARED, Severity.WARNING, text)


def _sheet_voids(setup: MountSetup, evidence: Evidence, proofed: float | None) -> Iterator[Finding]:
    kinds = {*evidence.kinds, kind_mounted(setup)}
    voided = evidence.void_pct > 0.0 or float(setup.joint.void_pct) > 0.0
    if not voided or not any(kind in LAYERED for kind in kinds):
        return
    if proofed is not None and proofed >= setup.criteria.margin:
        return
    text = (
        "Sheet goods with voids: a rare deep void is in few coupons and may be in this block. Coupons alone cannot "
        f"clear the sheet; a proof of this mount at {setup.criteria.margin:g} times the named catch can."
    )
    yield Finding(FindingCode.SHEET_VOIDS, Severity.BLOCKING, text)


def _unrated(setup: MountSetup) -> Iterator[Finding]:
    held = setup.hold.kind
    if held is HoldKind.FACEPLATE and setup.screws is None:
        text = "The screws between plate and block are not described ([screws]): a link that is not rated cannot pass."
        yield Finding(FindingCode.LINK_UNRATED, Severity.BLOCKING, text)
    elif held is not HoldKind.FACEPLATE:
        text = f"Nothing published or tested rates the hold {held.replace('_', ' ')}: it cannot pass."
        yield Finding(FindingCode.LINK_UNRATED, Severity.BLOCKING, text)
    if setup.blank.grain is BlankGrain.SEGMENTED and not setup.blank_joints:
        text = (
            "The blank is glued up from segments whose joints are not described: the verdict is about the mount only."
        )
        yield Finding(FindingCode.BLANK_JOINTS_UNRATED, Severity.WARNING, text)
