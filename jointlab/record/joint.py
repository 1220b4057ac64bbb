"""The joint: what is glued to what, and the outline of the bond."""

from __future__ import annotations

from dataclasses import dataclass

from jointlab.record.names import matched
from jointlab.record.vocabulary import GlueFamily, GrainToLoad, Interlayer, Shape, SubstrateKind


@dataclass(frozen=True, slots=True)
class Disc:
    """A full round bond."""

    diameter_mm: float

    @property
    def shape(self) -> Shape:
        """Word of the contract for this outline."""
        return Shape.DISC


@dataclass(frozen=True, slots=True)
class Ring:
    """A round bond relieved in the middle: glued between ``hole_mm`` and ``diameter_mm``."""

    diameter_mm: float
    hole_mm: float

    @property
    def shape(self) -> Shape:
        """Word of the contract for this outline."""
        return Shape.RING


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangular bond; ``depth_mm`` runs along the prying direction."""

    width_mm: float
    depth_mm: float

    @property
    def shape(self) -> Shape:
        """Word of the contract for this outline."""
        return Shape.RECTANGLE


Outline = Disc | Ring | Rectangle


@dataclass(frozen=True, slots=True)
class Combination:
    """Glue x substrate, and the preparation where one is given: what strengths are compared and decided by."""

    glue: str
    substrate: str
    preparation: str = ""

    @property
    def key(self) -> tuple[str, str, str]:
        """The names as they are matched: without case, in one Unicode form."""
        return (matched(self.glue), matched(self.substrate), matched(self.preparation))

    def __str__(self) -> str:
        tail = f" ({self.preparation})" if self.preparation else ""
        return f"{self.glue} on {self.substrate}{tail}"


@dataclass(frozen=True, slots=True)
class Joint:
    """One glued joint as it was made."""

    combination: Combination
    outline: Outline
    blank_wood: str | None = None
    glue_family: GlueFamily | None = None
    substrate_kind: SubstrateKind | None = None
    interlayer: Interlayer | None = None
    grain_to_load: GrainToLoad | None = None
    void_pct: float | None = None
