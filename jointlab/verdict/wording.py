"""The verdict in words: its reasons, its scope and the cautions that go with it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jointlab.mount.setup import BlankGrain, MountSetup
from jointlab.record.finding import Finding
from jointlab.record.vocabulary import GlueFamily, Interlayer
from jointlab.verdict.assessment import TESTED_LINKS, Assessment
from jointlab.verdict.evidence import LEAST_BATCHES, LEAST_PULLS, Evidence
from jointlab.verdict.families import families_of
from jointlab.verdict.sentence import case_told, glue_ups_told, link_told, margin_told
from jointlab.verdict.values import LinkVerdict, Outcome, WayOut


def reasons_of(
    outcome: Outcome, assessment: Assessment, evidence: Evidence | None, *, required: float, findings: Sequence[Finding]
) -> tuple[str, ...]:
    """Why the verdict is what it is; every figure in it was given to the verdict."""
    return (*_margin_reasons(assessment, required), *_evidence_reasons(outcome, assessment, evidence, findings))


def _margin_reasons(assessment: Assessment, required: float) -> Iterator[str]:
    lower, upper, governing = assessment.margin_lower, assessment.margin_upper, assessment.governing
    if lower is None or governing is None:
        yield "The glue line has no lower margin: no strength can be relied on from these tests."
    else:
        place = f"{link_told(governing.link)}, {case_told(governing.case)}"
        met = "reaches" if lower >= required else "misses"
        yield f"The lower margin, {margin_told(lower)} ({place}), {met} the required {required:g}."
        yield from _others_missing(assessment, governing, required)
    if upper is None:
        yield "No upper margin can be given from these tests, so they cannot fail the mount."
    elif upper < required:
        told = f"The upper margin, {margin_told(upper)}, misses the required {required:g}"
        yield f"{told}: more tests like these would not help."
    elif lower is None or lower < required:
        yield f"The upper margin, {margin_told(upper)}, does not miss it: better evidence may yet settle it."


def _others_missing(assessment: Assessment, governing: LinkVerdict, required: float) -> Iterator[str]:
    """Other links that miss the margin; those of the tested stack, which share one margin, are told once."""
    told = TESTED_LINKS if governing.link in TESTED_LINKS else {governing.link}
    for link in assessment.links:
        if link.link not in told and link.margin_lower is not None and link.margin_lower < required:
            does = "do" if link.link == "screws" else "does"
            yield f"So {does} {link_told(link.link)}, with {margin_told(link.margin_lower)}."
            told = told | (TESTED_LINKS if link.link in TESTED_LINKS else {link.link})


def _evidence_reasons(
    outcome: Outcome, assessment: Assessment, evidence: Evidence | None, findings: Sequence[Finding]
) -> Iterator[str]:
    if evidence is not None:
        enough = evidence.n_usable >= LEAST_PULLS and evidence.n_batches >= LEAST_BATCHES
        told = "" if enough else f"; a pass needs {LEAST_PULLS} in {LEAST_BATCHES}"
        yield f"It rests on {evidence.n_usable} usable pulls in {glue_ups_told(evidence.n_batches)}{told}."
    if outcome is Outcome.PASS:
        return
    for link in assessment.links:
        if link.margin_lower is None:
            yield f"Not rated, and so in the way of a pass: {link_told(link.link)}."
    for finding in findings:
        if finding.blocks:
            yield f"In the way of a pass ({finding.code}): {finding.text}"


def relaxed_reasons(setup: MountSetup, outcome: Outcome) -> Iterator[str]:
    """The answer with its label, where less is asked than usual: whatever else is read, this is."""
    relaxed = setup.criteria.relaxed
    if relaxed:
        yield f"{outcome} (criteria relaxed: {'; '.join(relaxed)}): less is asked than usual."


def proof_reasons(setup: MountSetup, proofed: float | None) -> Iterator[str]:
    """What a proof of this very mount adds; it counts only when it reached the required margin."""
    if proofed is None:
        return
    required, catch = setup.criteria.margin, setup.criteria.catch
    counts = (
        "it held, in those directions on that day" if proofed >= required else f"below {required:g} it counts nothing"
    )
    yield f"This mount was proofed at {proofed:g} times a {catch} catch: {counts}."


def no_way_reasons(outcome: Outcome, ways: Sequence[WayOut]) -> Iterator[str]:
    """That no change of the mount makes it pass, where none does: silence would leave the user searching."""
    if outcome is Outcome.FAIL and not ways:
        yield (
            "No larger joint, shorter reach, lower speed, tailstock or number of screws, alone or one after another, "
            "reaches the margin with these joints. Use joints shown to be stronger, or hold the blank another way: "
            "`jointlab mount` sets the ways to hold it side by side."
        )


def scope_of(setup: MountSetup) -> str:
    """What the verdict is about, and what ends it."""
    only = ""
    if setup.blank.grain is BlankGrain.SEGMENTED and not setup.blank_joints:
        only = " It is about the mount only, not about the joints inside the blank."
    glue_up = f" and glue-up {setup.joint.batch}" if setup.joint.batch else " and this glue-up"
    reach_mm, speed_rpm = float(setup.work.reach_mm), float(setup.lathe.speed_rpm)
    return (
        f"For {setup.joint.combination}{glue_up}, up to {speed_rpm:g} rpm, cut no further than {reach_mm:g} mm from "
        f"the glue line, everything as stated. Void after any catch, tick or gap. Check again after three days.{only}"
    )


DEFERRAL = (
    "These are engineering estimates from your own tests. The lathe's manual, the glue maker's instructions, the rules "
    "of your workplace and country, and a qualified instructor come before them: where they differ, follow the "
    "stricter. The person at the lathe decides and stays responsible."
)

_ALWAYS = (
    "Full face shield and glasses; no gloves, loose sleeves, jewellery or hair. A shield does not stop a blank.",
    "Stand clear of the blank's plane at every start and change of speed, and keep others out of it.",
    "Two full turns by hand, everything locked, then the lowest speed first. Tailstock up whenever the cut allows.",
    "Stop at the first tick, wobble, sound or smell; look at the joint; do not turn past a gap that can be seen.",
    "If it starts to let go: step sideways and stop the lathe from there. Never reach across.",
    "Pilot every screw, fill every hole of the plate, do not over-drive; tighten again after roughing.",
    "Remounting or reversing makes a new mount: seat, lock, turn by hand, read the runout again.",
)

_OF_FAMILY = {
    GlueFamily.PVA: "White and yellow glue creep: leave no heavy work hanging on them; heat and solvents soften them.",
    GlueFamily.HOT_MELT: "Hot melt is for light, small, supported work; the heat of sanding softens it.",
    GlueFamily.TAPE: "Tape is for light, small, supported work.",
    GlueFamily.CYANOACRYLATE: "Cyanoacrylate breaks brittle: light, small, supported work; heat softens it.",
}


def cautions_of(setup: MountSetup, evidence: Evidence | None) -> tuple[str, ...]:
    """Cautions for this mount, the standing ones first and the deferral last (source: trade)."""
    families = families_of(setup, evidence)
    told = [*_ALWAYS, *(_OF_FAMILY[family] for family in families if family in _OF_FAMILY)]
    if setup.joint.interlayer is Interlayer.PAPER:
        told.append("A paper joint is made to split: no heavy or interrupted cuts, and never pry toward yourself.")
    told.append("Blank and block more than 2 % moisture apart, or more than three days mounted, need a new check.")
    return (*told, DEFERRAL)
