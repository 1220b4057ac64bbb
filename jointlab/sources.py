"""Every book, paper and standard from which jointlab calculates.

A constant or formula names its source by the key here; a page prints exactly the sources it used. ``standing`` says
how the value came to us: read in the source, read second-hand, recalled from memory, common practice of the trade, derived
here from mechanics, or engineering judgement (which the user can change).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Standing(StrEnum):
    """How a value came to us."""

    READ = "read in the source"
    SECOND_HAND = "read second-hand"
    MEMORY = "recalled from memory"
    PRACTICE = "common practice, no source"
    DERIVED = "derived from mechanics"
    JUDGEMENT = "judgement"


@dataclass(frozen=True, slots=True)
class Source:
    """A published source, or the honest name of having none."""

    key: str
    text: str
    standing: Standing


_SOURCES = (
    Source(
        "wood_handbook_5_3b",
        "Wood Handbook, FPL-GTR-282 (2021), Table 5-3b: strength of clear wood at 12 % moisture",
        Standing.READ,
    ),
    Source(
        "gum",
        "JCGM 100:2008, Guide to the expression of uncertainty in measurement (first-order law; F.2.2.1 resolution)",
        Standing.MEMORY,
    ),
    Source("iso_6789", "ISO 6789: indicating torque wrenches above 10 N m, 4 % of the reading", Standing.SECOND_HAND),
    Source("mechanics", "Elementary mechanics of bending, torsion and rotation", Standing.DERIVED),
    Source("trade", "Common practice of woodturning", Standing.PRACTICE),
    Source("judgement", "Engineering judgement of this project; a default the user can change", Standing.JUDGEMENT),
)

SOURCES: dict[str, Source] = {source.key: source for source in _SOURCES}
"""Every source by its key."""


def cited(*keys: str) -> tuple[Source, ...]:
    """Sources of these keys, in the order given, each once.

    Raises
    ------
    KeyError
        A key is not in the list: a number would stand without a source.
    """
    return tuple(SOURCES[key] for key in dict.fromkeys(keys))
