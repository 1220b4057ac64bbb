"""What several shops bring, and what was decided when it was put together."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from jointlab.compare.shops import PooledShops
from jointlab.record.joint import Combination
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import Action
from jointlab.stress.joint_stress import JointStress


@dataclass(frozen=True, slots=True)
class FieldEntry:
    """One mount of a shop as it went, without a name: what it was, what was said, and how it ended.

    Parameters
    ----------
    diameter_mm, length_mm
        Of the blank.
    worst_catch
        Heaviest class of catch it met; None: none, or none told.
    end, removal
        How it ended and how the block came off; None while it is in use.
    verdict, margin_lower
        What was said before turning.
    hours, top_rpm
        Turned, and the highest speed told.
    proofed
        Times the named catch it was proofed at; None: it was not.
    """

    diameter_mm: float
    length_mm: float
    worst_catch: str | None
    end: str | None
    verdict: str
    margin_lower: float | None = None
    hours: float = 0.0
    top_rpm: float | None = None
    proofed: float | None = None
    removal: str | None = None


@dataclass(frozen=True, slots=True)
class Contribution:
    """One package: its file's name, its date, the mark of the book it came from, the shop's name where it is public.

    ``stresses`` of its pulls in their order; empty: not worked out yet.
    """

    name: str
    dated_on: str
    pulls: tuple[Pull, ...]
    book: str | None = None
    shop: str | None = None
    field: tuple[FieldEntry, ...] = ()
    stresses: tuple[JointStress, ...] = ()


class RulingKind(StrEnum):
    """What a decision is about."""

    SHOP = "shop"
    DUPLICATE = "duplicate"
    REVISED = "revised"
    NAME = "name"
    LEFT_APART = "left_apart"
    UNIT = "unit"
    NOT_USED = "not_used"


@dataclass(frozen=True, slots=True)
class Ruling:
    """Something decided when packages were put together, so that another can decide otherwise."""

    kind: RulingKind
    text: str


@dataclass(frozen=True, slots=True)
class GatheredShop:
    """A shop: the name it goes by here, the packages it brought, its pulls each once, its mounts.

    ``stresses`` of its pulls in their order; empty: not worked out yet.
    """

    name: str
    packages: tuple[str, ...]
    pulls: tuple[Pull, ...]
    field: tuple[FieldEntry, ...] = ()
    stresses: tuple[JointStress, ...] = ()


@dataclass(frozen=True, slots=True)
class Gathered:
    """Shops in the order in which they came, and every decision taken on the way."""

    shops: tuple[GatheredShop, ...]
    rulings: tuple[Ruling, ...]


@dataclass(frozen=True, slots=True)
class ShopSeen:
    """What one shop brings of one combination: bounds of each pull [MPa], no upper one where it held."""

    shop: str
    bounds_mpa: tuple[tuple[float, float | None], ...]

    @property
    def pulls(self) -> int:
        """Pulls that say something."""
        return len(self.bounds_mpa)


@dataclass(frozen=True, slots=True)
class PooledCombination:
    """One combination under one action over all shops; ``pooled`` None: ``why_not`` says what is missing."""

    combination: Combination
    action: Action
    seen: tuple[ShopSeen, ...]
    pooled: PooledShops | None
    why_not: str | None = None

    @property
    def pulls(self) -> int:
        """Pulls of all shops."""
        return sum(each.pulls for each in self.seen)
