"""The sentences a publication leads with: what was asked, and the answer, in plain words."""

from __future__ import annotations

from jointlab.mount.setup import CatchClass
from jointlab.publish.envelope_table import SIZE_WORDS
from jointlab.publish.probability_figure import FAMILY_WORDS
from jointlab.publish.publication import ProbabilityPlot, Publication, PublishedMount, PublishedPull, held_open
from jointlab.publish.strengths_figure import MOST_ROWS, mark_of, unplaced_rows
from jointlab.publish.wording import (
    ANSWER_WORDS,
    CASE_WORDS,
    counted,
    force_words,
    link_words,
    listed,
    margin_words,
    outline_words,
    percent,
    rounded,
)
from jointlab.strength.values import CombinationStrength
from jointlab.verdict.values import Outcome, Verdict


def question_of(publication: Publication) -> str:
    """What was asked: in the shop's words, else worded from the pulls."""
    if publication.question is not None:
        return publication.question
    glues = list(dict.fromkeys(strength.combination.glue for strength in publication.strengths))
    if not glues:
        return "What do these joints hold?"
    return f"What can a joint made with {listed(glues[:6])} be relied on for?"


def answer_of(publication: Publication) -> str:
    """The answer in one sentence: of the first mount if one was asked about, else of the strengths."""
    if publication.mounts:
        return mount_answer(publication.mounts[0])
    relied_on = [strength for strength in publication.strengths if strength_is_relied_on(strength)]
    if not relied_on:
        return "Nothing can be relied on yet: none of the combinations has pulls enough for a bound."
    best = max(relied_on, key=lambda strength: strength.working_bound.bound_mpa or 0.0)
    bound = best.working_bound
    return (
        f"Of {counted(len(publication.strengths), 'combination')} pulled, {best.combination} can be relied on for the "
        f"most under a {best.action}: {rounded(bound.bound_mpa)} MPa, which {percent(bound.coverage)} of such joints "
        f"exceed, said with {percent(bound.confidence)} confidence."
    )


def strength_is_relied_on(strength: CombinationStrength) -> bool:
    """Whether the combination has a bound above nothing and no finding that holds it open."""
    bound_mpa = strength.working_bound.bound_mpa
    return bound_mpa is not None and bound_mpa > 0.0 and not held_open(strength.findings)


def mount_headline(mount: PublishedMount) -> str:
    """The answer alone, and by what it was asked less."""
    by_hand = any(factor.overridden for factor in mount.verdict.factors)
    answer = ANSWER_WORDS[mount.verdict.verdict] + relaxed_words(mount.verdict)
    return answer + (" (factors or assumptions set by hand)" if by_hand else "")


def mount_answer(mount: PublishedMount) -> str:
    """What grab the mount stands, the link that governs, and the answer."""
    verdict, answer = mount.verdict, mount_headline(mount)
    if verdict.stands_n is None:
        return f"{answer}: no strength is known of the glue line, so no grab can be named that the mount would stand."
    if verdict.stands_n <= 0.0:
        link = (
            ""
            if verdict.governing_link is None
            else f", and the {link_words(verdict.governing_link)} is the least of it"
        )
        return f"{answer}: the mount keeps the margin asked in no grab at all; turning alone takes it up{link}."
    governing = ""
    if verdict.governing_link is not None and verdict.governing_case is not None:
        link, case = link_words(verdict.governing_link), CASE_WORDS[verdict.governing_case]
        governing = f"; the {link} {'govern' if link.endswith('s') else 'governs'} ({case})"
    grab = f"the mount stands a grab of {force_words(verdict.stands_n)} at the furthest cut"
    tail = f"{grab} with the margin of {rounded(verdict.margin_required)} that is asked{governing}"
    return f"{answer}: {tail}."


def relaxed_words(verdict: Verdict) -> str:
    """What was asked less than usual, to follow an answer; nothing where nothing was."""
    return f" (criteria relaxed: {'; '.join(verdict.criteria.relaxed)})" if verdict.relaxed else ""


def catch_sentence(mount: PublishedMount) -> str:
    """What light, firm and severe mean for this mount, so that a force can be pictured."""
    assumed = mount.setup.assumptions
    named = [f"a {catch} one {rounded(float(assumed.force_n(catch)))} N" for catch in CatchClass]
    return f"For comparison, the classes of catch used here: {listed(named)}, if the lathe can deliver that much."


def margin_sentence(mount: PublishedMount) -> str:
    """The margins against what is asked, in figures."""
    verdict = mount.verdict
    if verdict.margin_lower is None:
        return f"No margin can be given; {rounded(verdict.margin_required)} is asked."
    upper = ""
    if verdict.margin_upper is not None and verdict.margin_upper != verdict.margin_lower:
        upper = f", and could be as much as {rounded(verdict.margin_upper)}"
    asked = rounded(verdict.margin_required)
    return f"The margin is at least {margin_words(verdict.margin_lower)}{upper}; {asked} is asked."


ANSWER_SHAPES = {Outcome.PASS: "\N{BLACK CIRCLE}", Outcome.FAIL: "\N{BLACK SQUARE}", Outcome.UNDECIDED: "\N{LOZENGE}"}
"""Shapes that tell an answer beside its word and colour."""


def strengths_alt(pulls: tuple[PublishedPull, ...], strengths: tuple[CombinationStrength, ...]) -> str:
    """What the figure of strengths shows, for one who cannot see it."""
    said = []
    for row in unplaced_rows(pulls, strengths[:MOST_ROWS]):
        if not row.marks:
            continue
        places = [mark.at_mpa for mark in row.marks]
        bound = "no bound" if row.bound_mpa is None else f"{row.bound_mark.word}: {rounded(row.bound_mpa)} MPa"
        said.append(
            f"{row.combination}, {row.action}: {counted(len(places), 'pull')} between {rounded(min(places))} and "
            f"{rounded(max(places))} MPa, {bound}"
        )
    kinds = sorted({mark_of(published).word for published in pulls})
    return f"Strength of every pull by combination. {'; '.join(said)}. Marks: {'; '.join(kinds)}."


def demand_alt(mount: PublishedMount) -> str:
    """What the figure of demand shows, for one who cannot see it."""
    said = [
        f"{link_words(link.link)}, governed {CASE_WORDS[link.case]}: lower margin {margin_words(link.margin_lower)}"
        for link in mount.verdict.links
    ]
    return f"What each case asks of each link, beside what the link is relied on for. {'; '.join(said)}."


def section_alt(mount: PublishedMount) -> str:
    """What the section through the mount shows, for one who cannot see it."""
    setup, governing = mount.setup, mount.verdict.governing_link
    told = "" if governing is None else f" A ringed cross marks the link that governs: {link_words(governing)}."
    return (
        f"The mount from the side, to scale: plate, block {rounded(float(setup.block.thickness_mm))} mm thick, joint "
        f"({outline_words(setup.joint.outline)}), blank {rounded(float(setup.blank.diameter_mm))} mm across and "
        f"{rounded(float(setup.blank.length_mm))} mm long, furthest cut {rounded(float(setup.work.reach_mm))} mm from "
        f"the glue line.{told}"
    )


def envelope_alt(mount: PublishedMount) -> str:
    """What the figure of the envelope shows, for one who cannot see it."""
    sizes = listed(list(dict.fromkeys(SIZE_WORDS[line.axis].split(",")[0] for line in mount.envelope)))
    return f"Grab the mount would stand and speed it would allow, by {sizes}; the tables below hold the figures."


def plot_alt(plot: ProbabilityPlot) -> str:
    """What a probability plot shows, for one who cannot see it."""
    held = sum(position.upper_mpa is None for position in plot.positions)
    shapes = listed([FAMILY_WORDS[curve.family] for curve in plot.curves])
    bound = plot.working_bound
    relied = (
        ""
        if bound is None or bound.bound_mpa is None
        else f" The lower bound stands at {rounded(bound.bound_mpa)} MPa."
    )
    return (
        f"Share of joints of {plot.combination}, {plot.action}, that break below a stress: {len(plot.positions)} "
        "pulls, "
        f"{held} of them held" + (f", with fitted shapes {shapes}." if shapes else ".") + relied
    )
