"""Clear wood at 12 % moisture: specific gravity, shear along the grain, tension across it.

Means of small clear specimens: a picture of what wood carries, not a strength to rely on.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import lru_cache

from jointlab.record.names import matched
from jointlab.units import UNITS, Quantity

SOURCE = "wood_handbook_5_3b"
SOURCE_1974 = "wood_handbook_1974"

MOISTURE_SHARE = 1.12
"""Mass at 12 % moisture over oven-dry mass (mechanics)."""

_PSI_MPA = UNITS[(Quantity.STRESS, "psi")].factor


@dataclass(frozen=True, slots=True)
class Wood:
    """A row of the table. Stresses in psi as printed; None where the table reports none.

    Parameters
    ----------
    name
        As the table names it.
    specific_gravity
        Oven-dry mass over volume at 12 % moisture, relative to water.
    shear_psi, tension_psi
        Shear along the grain and tension across it at 12 % moisture.
    green_shear_psi, green_tension_psi
        The same, green.
    hardwood
        Whether it is a hardwood.
    other_names
        Names the trade also uses.
    source
        Key of the source of the row.
    """

    name: str
    specific_gravity: float
    shear_psi: float
    tension_psi: float | None
    green_shear_psi: float
    green_tension_psi: float | None
    hardwood: bool = True
    other_names: tuple[str, ...] = ()
    source: str = SOURCE

    @property
    def density_kg_m3(self) -> float:
        """Density at 12 % moisture [kg/m3]: 1000 x specific gravity x 1.12 (mechanics)."""
        return 1000.0 * self.specific_gravity * MOISTURE_SHARE

    @property
    def shear_mpa(self) -> float:
        """Shear strength along the grain at 12 % moisture, mean [MPa]."""
        return self.shear_psi * _PSI_MPA

    @property
    def tension_mpa(self) -> float | None:
        """Tension strength across the grain at 12 % moisture, mean [MPa]; None where the table reports none."""
        return None if self.tension_psi is None else self.tension_psi * _PSI_MPA

    @property
    def green_shear_mpa(self) -> float:
        """Shear strength along the grain, green, mean [MPa]."""
        return self.green_shear_psi * _PSI_MPA

    @property
    def green_tension_mpa(self) -> float | None:
        """Tension strength across the grain, green, mean [MPa]; None where the table reports none."""
        return None if self.green_tension_psi is None else self.green_tension_psi * _PSI_MPA


WOODS: tuple[Wood, ...] = (
    Wood("sugar maple", 0.63, 2330, None, 1460, None, other_names=("hard maple", "rock maple")),
    Wood("red maple", 0.54, 1850, None, 1150, None, other_names=("soft maple",)),
    Wood("silver maple", 0.47, 1480, 500, 1050, 560),
    Wood("bigleaf maple", 0.48, 1730, 540, 1110, 600, other_names=("big leaf maple",)),
    Wood("northern red oak", 0.63, 1780, 800, 1210, 750),
    Wood("white oak", 0.68, 2000, 800, 1250, 770),
    Wood("black walnut", 0.55, 1370, 690, 1220, 570),
    Wood("black cherry", 0.50, 1700, 560, 1130, 570),
    Wood("white ash", 0.60, 1910, 940, 1350, 590),
    Wood("yellow birch", 0.62, 1880, 920, 1110, 430),
    Wood("American beech", 0.64, 2010, 1010, 1290, 720),
    Wood("yellow-poplar", 0.42, 1190, 540, 790, 510, other_names=("tulip poplar", "tulipwood")),
    Wood("basswood", 0.37, 990, 350, 600, 280),
    Wood("sycamore", 0.49, 1470, 720, 1000, 630),
    Wood("sweetgum", 0.52, 1600, 760, 990, 540),
    Wood("American elm", 0.50, 1510, 660, 1000, 590),
    Wood("red alder", 0.41, 1080, 420, 770, 390),
    Wood("butternut", 0.38, 1170, 440, 760, 430),
    Wood("black locust", 0.69, 2480, 640, 1760, 770),
    Wood("Douglas-fir, coast", 0.48, 1130, 340, 900, 300, hardwood=False),
    Wood("eastern white pine", 0.35, 900, 310, 680, 250, hardwood=False, source=SOURCE_1974),
    Wood("ponderosa pine", 0.40, 1130, 420, 700, 310, hardwood=False),
    Wood("loblolly pine", 0.51, 1390, 470, 860, 260, hardwood=False),
)
"""Table 5-3b of the Wood Handbook, the woods a turner meets (``SOURCE``; one row from the edition of 1974)."""


def _words(name: str) -> frozenset[str]:
    return frozenset(re.findall(r"\w+", matched(name)))


@lru_cache(maxsize=4096)
def woods_named(name: str) -> tuple[Wood, ...]:
    """Woods whose name holds every word of ``name``, in any order and case; one exact name stands alone."""
    asked = _words(name)
    if not asked:
        return ()
    exact = tuple(dict.fromkeys(wood for wood, words in _spellings() if words == asked))
    return exact or tuple(dict.fromkeys(wood for wood, words in _spellings() if asked <= words))


@lru_cache(maxsize=1)
def _spellings() -> tuple[tuple[Wood, frozenset[str]], ...]:
    return tuple((wood, _words(spelling)) for wood in WOODS for spelling in (wood.name, *wood.other_names))


def nearest_woods(name: str) -> tuple[str, ...]:
    """Names of the table closest to a name that is not in it, closest first; at most three."""
    spelled = {matched(spelling): wood.name for wood in WOODS for spelling in (wood.name, *wood.other_names)}
    close = difflib.get_close_matches(matched(name), spelled, n=5, cutoff=0.4)
    return tuple(dict.fromkeys(spelled[spelling] for spelling in close))[:3]


def wood_problem(name: str) -> str | None:
    """What is wrong with a wood's name, with the nearest names of the table; None when it names exactly one wood."""
    found = woods_named(name)
    if len(found) == 1:
        return None
    if found:
        return f"is more than one wood of the table: say which of {', '.join(wood.name for wood in found)}"
    nearest = nearest_woods(name)
    told = f"nearest: {', '.join(nearest)}" if nearest else f"it has {', '.join(wood.name for wood in WOODS)}"
    return f"is not in the table of woods; {told}"


def wood_named(name: str) -> Wood | None:
    """The wood of this name; None when the table has none or more than one (``wood_problem`` says which)."""
    found = woods_named(name)
    return found[0] if len(found) == 1 else None


TENSION_HARDWOOD_MPA = (10.1, 1.30)
TENSION_SOFTWOOD_MPA = (6.0, 1.11)
SOURCE_REGRESSION = "wood_handbook_5_11"


def estimated_tension_mpa(wood: Wood) -> float:
    """Tension across the grain estimated from specific gravity alone [MPa]: a G^b (Table 5-11, 12 % moisture)."""
    factor, power = TENSION_HARDWOOD_MPA if wood.hardwood else TENSION_SOFTWOOD_MPA
    return float(factor * wood.specific_gravity**power)
