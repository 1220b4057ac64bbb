"""Evidence: which pulls of a combination feed the tension and the shear relied on, and how those joints were made."""

from __future__ import annotations

import statistics
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from jointlab.record.bounds import load_bounds
from jointlab.record.finding import Finding, FindingCode, Severity
from jointlab.record.joint import Combination
from jointlab.record.pull import Pull
from jointlab.record.vocabulary import Action, GlueFamily, GrainToLoad, Interlayer, SubstrateKind
from jointlab.strength.sample import StrengthSample
from jointlab.strength.values import CombinationStrength
from jointlab.stress.doubtful_readings import doubtful_readings, looks_wrong
from jointlab.stress.joint_stress_of import joint_stress_of
from jointlab.stress.section import section_of

Word = TypeVar("Word")

LEAST_PULLS = 5
"""Usable pulls below which an action feeds no strength of its own, and no pass is given (source: judgement)."""

LEAST_BATCHES = 2
"""Glue-ups without which no pass is given (source: judgement)."""

SOLID_KINDS: frozenset[SubstrateKind] = frozenset(
    {SubstrateKind.SOLID_FACE, SubstrateKind.SOLID_EDGE, SubstrateKind.SOLID_END, SubstrateKind.SEGMENTED}
)
"""Kinds of substrate that are solid wood."""

SHEAR_SHARE_SOLID = 0.35
"""Shear relied on as a share of tension, on solid wood and where the kind is unknown (source: rolling_shear)."""

SHEAR_SHARE_PANEL = 0.70
"""The same on plywood and other panels (source: gougeon_laminate: rolling shear 276 over radial tension 393 psi)."""


@dataclass(frozen=True, slots=True)
class Feed:
    """Usable pulls of one action, and the strength they give before any factor.

    Parameters
    ----------
    action
        How those joints were loaded.
    strength
        What the strength room says of them.
    n_usable
        Pulls that carry information.
    batches
        Names of their glue-ups.
    area_mm2
        Median outline area of their bonds.
    cure_h, moisture_pct
        Medians over the pulls that state them; None when none does.
    sample
        The strengths themselves [MPa], for what further pulls may bring; None where only bounds are at hand.
    """

    action: Action
    strength: CombinationStrength
    n_usable: int
    batches: tuple[str, ...]
    area_mm2: float
    cure_h: float | None
    moisture_pct: float | None
    sample: StrengthSample | None = None

    @property
    def bound_mpa(self) -> float | None:
        """Lower working bound [MPa]."""
        return self.strength.working_bound.bound_mpa

    @property
    def upper_mpa(self) -> float | None:
        """Bound above which the strength is not expected to lie [MPa]."""
        return self.strength.working_bound.upper_mpa


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the shop's own pulls of a combination say for a mount.

    Parameters
    ----------
    combination
        Glue, substrate, preparation.
    tension
        Pulls that feed the tension relied on.
    shear
        Pulls that feed the shear relied on; None: a share of the tension is taken.
    kinds, families, interlayers
        What the usable pulls state, each once.
    sanded
        Whether most of those glued faces were sanded.
    void_pct
        Largest voided share seen in a usable pull; 0 when none is stated.
    findings
        What to know about the choice of pulls.
    blank_joints
        What the pulls of the combination of each joint inside the blank say, in the mount's order, None where there are
        none; empty when they were not looked for.
    foreign_batches
        Names of the glue-ups among them that other shops made.
    """

    combination: Combination
    tension: Feed
    shear: Feed | None
    kinds: tuple[SubstrateKind, ...] = ()
    families: tuple[GlueFamily, ...] = ()
    interlayers: tuple[Interlayer, ...] = ()
    sanded: bool = False
    void_pct: float = 0.0
    findings: tuple[Finding, ...] = ()
    blank_joints: tuple[Evidence | None, ...] = ()
    foreign_batches: tuple[str, ...] = ()

    @property
    def feeds(self) -> tuple[Feed, ...]:
        """The sets of pulls the verdict rests on."""
        return (self.tension,) if self.shear is None else (self.tension, self.shear)

    @property
    def n_usable(self) -> int:
        """Usable pulls of the smaller set the verdict rests on."""
        return min(feed.n_usable for feed in self.feeds)

    @property
    def n_batches(self) -> int:
        """Glue-ups of the set with fewest."""
        return min(len(feed.batches) for feed in self.feeds)

    @property
    def batches(self) -> tuple[str, ...]:
        """Names of every tested glue-up, each once."""
        return tuple(dict.fromkeys(name for feed in self.feeds for name in feed.batches))


def evidence_of(
    pulls: Sequence[Pull],
    strengths: Mapping[Action, CombinationStrength],
    *,
    shear_across: CombinationStrength | None = None,
    foreign_batches: Collection[str] = (),
) -> Evidence | None:
    """Which of a combination's pulls feed tension and shear, and what they say; None when none carries information.

    Tension comes from pries when five are usable, else from straight pulls. Shear comes from twists when five are
    usable, else from shear pulls across the grain when five are usable, else it is a share of the tension.

    Parameters
    ----------
    pulls
        The combination's pulls. Excluded ones feed nothing; that they are kept out, and why, is told.
    strengths
        Their strengths by action.
    shear_across
        Strength of the shear pulls loaded across the grain alone; None when there are none or it was not computed.
    foreign_batches
        Glue-ups that other shops made.
    """
    usable = [pull for pull in pulls if pull.excluded_because is None and load_bounds(pull).carries_information]
    by_action: dict[Action, list[Pull]] = {
        action: [pull for pull in usable if pull.action is action] for action in Action
    }
    tension = _tension_feed(by_action, strengths)
    if tension is None:
        return None
    shear = _shear_feed(by_action, strengths, shear_across)
    feeding = [pull for pull in usable if pull.action in (tension.action, shear.action if shear else tension.action)]
    return Evidence(
        combination=tension.strength.combination,
        tension=tension,
        shear=shear,
        kinds=_stated(pull.joint.substrate_kind for pull in feeding),
        families=_stated(pull.joint.glue_family for pull in feeding),
        interlayers=_stated(pull.joint.interlayer for pull in feeding),
        sanded=_mostly_sanded(feeding),
        void_pct=max((pull.joint.void_pct or 0.0 for pull in feeding), default=0.0),
        findings=(
            *_choice_findings(tension, shear),
            *_kept_out(pulls),
            *doubtful_readings([pull for pull in feeding if looks_wrong(pull)], of=len(feeding)),
            *_alike(feeding),
            *_others(feeding, tension.action, foreign_batches),
        ),
        foreign_batches=tuple(
            name for name in dict.fromkeys(pull.batch for pull in feeding) if name in foreign_batches
        ),
    )


def _tension_feed(
    by_action: Mapping[Action, Sequence[Pull]], strengths: Mapping[Action, CombinationStrength]
) -> Feed | None:
    pried, pulled = by_action[Action.PRY], by_action[Action.PULL]
    use_pries = len(pried) >= LEAST_PULLS or (len(pulled) < LEAST_PULLS and len(pried) >= len(pulled))
    action = Action.PRY if use_pries else Action.PULL
    chosen = pried if use_pries else pulled
    if not chosen or action not in strengths:
        return None
    return feed_of(chosen, strengths[action])


def _shear_feed(
    by_action: Mapping[Action, Sequence[Pull]],
    strengths: Mapping[Action, CombinationStrength],
    shear_across: CombinationStrength | None,
) -> Feed | None:
    twisted = by_action[Action.TWIST]
    if len(twisted) >= LEAST_PULLS and Action.TWIST in strengths:
        return feed_of(twisted, strengths[Action.TWIST])
    across = across_the_grain(by_action[Action.SHEAR])
    if len(across) >= LEAST_PULLS and shear_across is not None:
        return feed_of(across, shear_across)
    return None


def across_the_grain(pulls: Iterable[Pull]) -> tuple[Pull, ...]:
    """Shear pulls loaded across the grain: those whose weakest plane a turning side load meets somewhere on the rim."""
    return tuple(
        pull for pull in pulls if pull.action is Action.SHEAR and pull.joint.grain_to_load is GrainToLoad.ACROSS
    )


def feed_of(pulls: Sequence[Pull], strength: CombinationStrength) -> Feed:
    """The feed these usable pulls of one action make, with the medians of how they were made."""
    return Feed(
        action=strength.action,
        strength=strength,
        n_usable=len(pulls),
        batches=tuple(dict.fromkeys(pull.batch for pull in pulls)),
        area_mm2=statistics.median(float(section_of(pull.joint.outline).area_mm2) for pull in pulls),
        cure_h=_median(pull.conditions.cure_h for pull in pulls),
        moisture_pct=_median(pull.conditions.moisture_pct for pull in pulls),
        sample=StrengthSample.of_stresses(joint_stress_of(pull) for pull in pulls),
    )


def _median(stated: Iterable[float | None]) -> float | None:
    known = [value for value in stated if value is not None]
    return statistics.median(known) if known else None


def _stated(words: Iterable[Word | None]) -> tuple[Word, ...]:
    return tuple(dict.fromkeys(word for word in words if word is not None))


def _mostly_sanded(pulls: Sequence[Pull]) -> bool:
    sanded = [pull.conditions.grit is not None or "sand" in pull.joint.combination.key[2] for pull in pulls]
    return 2 * sum(sanded) >= len(sanded)


def _choice_findings(tension: Feed, shear: Feed | None) -> Iterable[Finding]:
    if tension.action is Action.PULL:
        text = (
            "The tension relied on comes from straight pulls: fewer than five pries are usable. A mount is pried, and "
            "joints stand more at the edge when pried than when pulled straight, so this leans to the low side."
        )
        yield Finding(FindingCode.TENSION_FROM_PULL, Severity.NOTE, text)
    if shear is None:
        text = (
            "No five twists and no five shear pulls across the grain are usable: the shear relied on is a set share of "
            "the tension, taken low. A twist test of five joints puts a measured value in its place."
        )
        yield Finding(FindingCode.SHEAR_FROM_SHARE, Severity.NOTE, text)


def _kept_out(pulls: Sequence[Pull]) -> Iterable[Finding]:
    causes = [pull.excluded_because for pull in pulls if pull.excluded_because is not None]
    if causes:
        text = f"{len(causes)} of {len(pulls)} pulls are kept out: {'; '.join(dict.fromkeys(causes))}."
        yield Finding(FindingCode.PULLS_EXCLUDED, Severity.WARNING, text)


def _alike(pulls: Sequence[Pull]) -> Iterable[Finding]:
    """Glue-ups that were all glued at one stated moment may be one glue-up under several names."""
    moments: dict[str, set[str]] = {}
    for pull in pulls:
        moments.setdefault(pull.batch, set()).add(pull.conditions.glued_on or pull.batch)
    glued = set().union(*moments.values())
    if len(moments) > 1 and len(glued) == 1:
        text = (
            f"Glue-ups {', '.join(moments)} were all glued on {glued.pop()}: if they are one glue-up under several "
            "names, the bound is too high."
        )
        yield Finding(FindingCode.BATCHES_ALIKE, Severity.QUESTION, text)


def _others(feeding: Sequence[Pull], action: Action, foreign: Collection[str]) -> Iterable[Finding]:
    """Other shops' joints may inform, but the shop's own hands and glue must have been seen as often as a pass asks."""
    from_others = [pull for pull in feeding if pull.batch in foreign]
    own = [pull for pull in feeding if pull.batch not in foreign and pull.action is action]
    if from_others and (len(own) < LEAST_PULLS or len({pull.batch for pull in own}) < LEAST_BATCHES):
        text = (
            f"{len(from_others)} of {len(feeding)} pulls come from other shops, {len(own)} of your own: other shops' "
            f"evidence alone is never a pass. Test {LEAST_PULLS} of your own, in {LEAST_BATCHES} glue-ups."
        )
        yield Finding(FindingCode.OTHERS_ALONE, Severity.BLOCKING, text)
