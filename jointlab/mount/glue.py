"""What a glue's family says of a mount: the gap it bridges, and what softens it."""

from __future__ import annotations

from collections.abc import Iterator

from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.vocabulary import GlueFamily

SOURCE = "judgement"
SOURCE_HEAT = "trade"

CLOSE_GAP_MM = 0.15
"""Widest gap white and yellow glue bridges without losing strength (``SOURCE``); taken for a family not named here."""

GAP_MM: dict[GlueFamily, float] = {
    GlueFamily.PVA: CLOSE_GAP_MM,
    GlueFamily.PVA_CROSSLINKING: CLOSE_GAP_MM,
    GlueFamily.POLYURETHANE: CLOSE_GAP_MM,
    GlueFamily.HIDE: CLOSE_GAP_MM,
    GlueFamily.CONTACT: CLOSE_GAP_MM,
    GlueFamily.CYANOACRYLATE: 0.05,
    GlueFamily.UREA_FORMALDEHYDE: 0.3,
    GlueFamily.RESORCINOL: 0.3,
    GlueFamily.TAPE: 0.3,
    GlueFamily.EPOXY: 1.0,
    GlueFamily.HOT_MELT: 1.0,
    GlueFamily.CONSTRUCTION: 1.0,
}
"""Widest gap each family bridges (``SOURCE``): the foam of polyurethane fills but does not hold, cyanoacrylate needs
faces that touch, urea-formaldehyde is fair, epoxy fills."""

_SOFTENING: dict[GlueFamily, str] = {
    GlueFamily.PVA: "White and yellow glue soften from 40 to 70 C, and with the solvents of a finish",
    GlueFamily.PVA_CROSSLINKING: "Crosslinking white glue softens with heat, later than the plain one",
    GlueFamily.EPOXY: "Epoxy that was not cured warm softens from 50 to 70 C",
    GlueFamily.HOT_MELT: "Hot melt lets go warm",
    GlueFamily.CYANOACRYLATE: "Cyanoacrylate softens near 80 C",
    GlueFamily.HIDE: "Hide glue lets go with moisture and heat",
}


def bridged_gap_mm(glue_family: GlueFamily | None) -> float:
    """Widest gap a glue bridges [mm]; that of white glue when the family is not known."""
    return CLOSE_GAP_MM if glue_family is None else GAP_MM.get(glue_family, CLOSE_GAP_MM)


def gap_findings(gap_mm: float, *, glue_family: GlueFamily | None) -> Iterator[Finding]:
    """Whether a gap suits the glue: a warning when it is wider than the family bridges."""
    bridged_mm = bridged_gap_mm(glue_family)
    if gap_mm > bridged_mm:
        told = f"{glue_family} bridges" if glue_family else "a glue of unknown family is taken to bridge"
        text = (
            f"A gap of {gap_mm:.2g} mm: {told} {bridged_mm:g} mm. A thick line is weaker than the tested one; true the "
            "faces, or test joints with that gap."
        )
        yield Finding(FindingCode.GAP_WIDE, Severity.WARNING, text)


def softening_findings(glue_family: GlueFamily | None) -> Iterator[Finding]:
    """What softens the glue: a note for a family that heat, water or solvents soften."""
    if glue_family in _SOFTENING:
        text = f"{_SOFTENING[glue_family]}: go easy with sanding heat, wet sanding and finish near the joint."
        yield Finding(FindingCode.GLUE_SOFTENS, Severity.NOTE, text)
