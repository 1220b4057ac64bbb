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
    Source(
        "rolling_shear",
        "Wood Handbook ch. 5: rolling shear 18-28 % of shear along the grain; with Table 5-3b, .36-.85 of the tension",
        Standing.DERIVED,
    ),
    Source(
        "gougeon_laminate",
        "Gougeon, boatbuilding handbook, 5th ed., ch. 3: fir laminate, radial tension and rolling shear at two sizes",
        Standing.SECOND_HAND,
    ),
    Source(
        "gougeon_fatigue",
        "Gougeon, boatbuilding handbook, 5th ed.: strength left after 1e6 and 1e7 cycles of laminate",
        Standing.SECOND_HAND,
    ),
    Source(
        "barrett_1974",
        "Barrett (1974), Wood and Fiber: fir tension across the grain at 1 and 2000 cubic inches, exponent 0.2008",
        Standing.SECOND_HAND,
    ),
    Source(
        "madison_curve",
        "Wood (1951), FPL report 1916: strength of wood against duration of load",
        Standing.SECOND_HAND,
    ),
    Source(
        "wood_moisture",
        "Wood Handbook eq. 5-3, with 2.5 % (shear) and 1.5 % (tension) lost per 1 % moisture above 12 % as defaults",
        Standing.JUDGEMENT,
    ),
    Source(
        "apa_pds",
        "APA Panel Design Specification 4.5.2: panels keep 0.75 of their strength at 16 % moisture and above",
        Standing.SECOND_HAND,
    ),
    Source(
        "end_grain",
        "Wood Handbook ch. 10, Follrich et al. (2007): end-grain joints reach 25-30 % of what side grain reaches",
        Standing.SECOND_HAND,
    ),
    Source(
        "norris",
        "Quadratic interaction of tension and shear (Norris; Tsai-Hill without its cross term)",
        Standing.MEMORY,
    ),
    Source("stated", "Set by the user for this mount", Standing.JUDGEMENT),
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
