"""The closed lists of words a pull or a mount is described in."""

from __future__ import annotations

from enum import StrEnum


class GlueFamily(StrEnum):
    """Kind of glue, whatever the name on the bottle."""

    PVA = "pva"
    PVA_CROSSLINKING = "pva_crosslinking"
    POLYURETHANE = "polyurethane"
    EPOXY = "epoxy"
    UREA_FORMALDEHYDE = "urea_formaldehyde"
    RESORCINOL = "resorcinol"
    HIDE = "hide"
    CYANOACRYLATE = "cyanoacrylate"
    HOT_MELT = "hot_melt"
    CONTACT = "contact"
    CONSTRUCTION = "construction"
    TAPE = "tape"
    OTHER = "other"


class SubstrateKind(StrEnum):
    """What the glue is put on: solid wood by the face glued, or a panel."""

    SOLID_FACE = "solid_face"
    SOLID_EDGE = "solid_edge"
    SOLID_END = "solid_end"
    SEGMENTED = "segmented"
    PLYWOOD = "plywood"
    MDF = "mdf"
    PARTICLEBOARD = "particleboard"
    OSB = "osb"
    OTHER = "other"


class Interlayer(StrEnum):
    """What lies between the two glue lines, if anything."""

    NONE = "none"
    PAPER = "paper"
    TAPE = "tape"


class Action(StrEnum):
    """How the joint is loaded."""

    PULL = "pull"
    PRY = "pry"
    SHEAR = "shear"
    TWIST = "twist"


class GrainToLoad(StrEnum):
    """Direction of the grain against the load."""

    ALONG = "along"
    ACROSS = "across"
    MIXED = "mixed"


class Shape(StrEnum):
    """Outline of the bond."""

    DISC = "disc"
    RING = "ring"
    RECTANGLE = "rectangle"


class Outcome(StrEnum):
    """What happened under the load."""

    BROKE = "broke"
    HELD = "held"
    STEP = "step"
    HANDLED = "handled"


class BrokeAt(StrEnum):
    """Where it let go."""

    GLUE_LINE = "glue_line"
    SUBSTRATE = "substrate"
    BLANK = "blank"
    PAPER = "paper"
    SCREWS = "screws"
    JAWS = "jaws"
    BAR = "bar"
    RIG = "rig"


OUTSIDE_THE_JOINT: frozenset[BrokeAt] = frozenset({BrokeAt.SCREWS, BrokeAt.JAWS, BrokeAt.BAR, BrokeAt.RIG})
"""Places whose letting go says only that the joint had not broken yet."""


class AdhesiveSide(StrEnum):
    """Which side came away clean of glue."""

    BLANK = "blank"
    SUBSTRATE = "substrate"
    BOTH = "both"
