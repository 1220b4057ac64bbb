"""Notes on the methods a publication used, each with exactly the sources its numbers come from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from jointlab.publish.publication import MethodNote, PublishedMount
from jointlab.sources import cited
from jointlab.strength.values import CombinationStrength, Method

_BOUNDS: dict[Method, tuple[str, str, tuple[str, ...]]] = {
    Method.NONCENTRAL_T: (
        "Bound from a normal or lognormal shape",
        "Exact when the strengths follow that shape and come from one glue-up; taken from the noncentral t "
        "distribution.",
        ("meeker_hahn_escobar",),
    ),
    Method.WEIBULL_PIVOT: (
        "Bound from a Weibull shape",
        "Exact when the strengths follow that shape and come from one glue-up; from the distribution of a pivot.",
        ("lawless",),
    ),
    Method.LIKELIHOOD_RATIO: (
        "Bound from the likelihood ratio",
        "Which fifth percentiles the pulls still allow under a shape, with the ratio calibrated by simulation.",
        ("lawless",),
    ),
    Method.HANSON_KOOPMANS: (
        "Bound from the smallest and a larger strength",
        "Needs no shape beyond a density whose logarithm bends one way: the smallest strength is carried down by a "
        "power that depends on how many were pulled.",
        ("hanson_koopmans",),
    ),
    Method.KNOWN_RATIO: (
        "Bound that counts glue-ups",
        "Takes glue-ups to differ from one another as much as joints within one do, because a few glue-ups cannot show "
        "how much they differ; computed on the square root of stress.",
        ("judgement",),
    ),
    Method.ORDER_STATISTIC: (
        "Bound from the order of the strengths",
        "A strength so low in the order that enough of all joints exceed it, whatever the shape; needs many pulls.",
        ("meeker_hahn_escobar",),
    ),
    Method.SUCCESS_RUN: (
        "Bound from joints that all held",
        "If every joint held a load, that load itself is a bound once enough were tried.",
        ("meeker_hahn_escobar",),
    ),
    Method.WORKING: (
        "The strength that can be relied on",
        "The least of the bound that needs no shape and the bound that counts glue-ups. The verdict uses this one, so "
        "that neither a wrong shape nor an odd glue-up can flatter it.",
        ("hanson_koopmans", "judgement"),
    ),
}


def methods_used(
    strengths: Sequence[CombinationStrength], mounts: Iterable[PublishedMount] = ()
) -> tuple[MethodNote, ...]:
    """Notes on every method that gave a number in these values, in the order in which a pull travels.

    Parameters
    ----------
    strengths
        What the pulls say; a method whose every bound is None leaves no note.
    mounts
        Mounts that were decided; without any, nothing is said of demand and verdict.
    """
    decided = tuple(mounts)
    return (*_of_strengths(strengths), *(_of_mounts() if decided else ()))


def _of_strengths(strengths: Sequence[CombinationStrength]) -> Iterator[MethodNote]:
    if not strengths:
        return
    yield MethodNote(
        "From load to stress",
        "Force over area for a straight pull, bending moment over section modulus for a pry, the elastic edge value "
        "for a twist; always on the outline of the bond, so that a void lowers the strength. The uncertainty of a "
        "reading is carried to first order and never narrows the spread of the pulls.",
        cited("mechanics", "gum"),
    )
    yield MethodNote(
        "Joints that did not break cleanly",
        "A joint that held counts as stronger than its load; one that broke between two loads, or in the hand, as "
        "weaker than the upper of them. When screws, jaws, bar or rig let go, the joint had held until then. None is "
        "left out.",
        cited("judgement"),
    )
    if any(fit.parameters for strength in strengths for fit in strength.families):
        yield MethodNote(
            "Fitted shapes",
            "Normal, lognormal, Weibull and smallest extreme value, each by maximum likelihood over all pulls with "
            "their censoring. They describe; which one looks best is not used to choose a bound.",
            cited("lawless", "aicc"),
        )
    given = {bound.method for strength in strengths for bound in strength.bounds if bound.bound_mpa is not None}
    for method, (title, text, keys) in _BOUNDS.items():
        if method in given:
            yield MethodNote(title, text, cited(*keys))


def _of_mounts() -> Iterator[MethodNote]:
    yield MethodNote(
        "What the lathe asks",
        "Weight, imbalance, a heavy cut and a catch act together on every link, at the worst speed and radius. A catch "
        "is a chip far too large, never more than the motor and the turning parts can deliver; its class is a "
        "judgement, and the largest uncertainty in the answer.",
        cited("mechanics", "kivimaa_koch", "iskra_hernandez", "motor_pull_out", "judgement"),
    )
    yield MethodNote(
        "Strength against demand",
        "Each link's strength, multiplied by factors only where test and mount differ, is set against its demand, "
        "tension and shear together. The least margin of all links is the mount's. It passes when its lower margin "
        "reaches what is asked, fails when even its upper margin does not, and is undecided otherwise.",
        cited("norris", "judgement"),
    )
