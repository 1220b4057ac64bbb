"""The mount card: one sheet for the wall beside the lathe, with what the mount may be asked and what ends it."""

from __future__ import annotations

import io
from dataclasses import dataclass

from jointlab.publish import sentences
from jointlab.publish.mount_figure import mount_figure
from jointlab.publish.pdf import ANSWER_COLOURS
from jointlab.publish.publication import PublishedMount
from jointlab.publish.typesetting import Paper, typeset
from jointlab.publish.wording import force_words, outline_words, rounded
from jointlab.record.finding import FindingCode
from jointlab.verdict.sentence import margin_told, outcome_told

SOURCE = "trade"

BEFORE_EACH_START = (
    "Plate seated clean on the spindle, and locked if the lathe reverses or brakes.",
    "Every screw tight; looked round the joint under a slanting light: no gap, no crack.",
    "Two whole turns by hand, the rest clear; the runout as it was.",
    "Face shield and glasses on; nobody in the plane of the blank; lowest speed first.",
)
"""Checks before the lathe is switched on (source key trade)."""

ENDS_IT = (
    "Any catch, tick, gap, new wobble, sound or smell.",
    "Taking it off, turning it round, or another spindle.",
    "A higher speed, a further cut or less tailstock than is written here.",
    "Three days gone, or a move to another climate.",
)
"""What ends the answer on the card (source key trade)."""

_TITLE_LETTERS = 60
_MOST_LETTERS = 120
_MOST_CAUTIONS = 10
"""A sheet bears so many; a longer caution is left to the page, never cut in the middle."""


@dataclass(frozen=True, slots=True)
class CardNote:
    """What a card carries beside the mount.

    Parameters
    ----------
    dated_on
        ISO date of the decision.
    program_version
        Version of jointlab that decided.
    decided_by
        Name or mark of who decided, if it is to be shown.
    code
        Text or address for the square code; None: no code.
    """

    dated_on: str
    program_version: str
    decided_by: str | None = None
    code: str | None = None


def mount_card(mount: PublishedMount, note: CardNote, *, paper: Paper = Paper.A4) -> bytes:
    """One printable sheet for a mount as a tagged PDF: drawing, limits, checks, what ends it, cautions, who decided."""
    drawings = {"mount.svg": mount_figure(mount.setup, governing_link=mount.verdict.governing_link)}
    if note.code is not None:
        drawings["code.svg"] = square_code(note.code)
    setup, verdict = mount.setup, mount.verdict
    values = {
        "paper": str(paper),
        "title": _cut(mount.name.replace("_", " "), letters=_TITLE_LETTERS),
        "colour": ANSWER_COLOURS[verdict.verdict],
        "answer": _cut(sentences.mount_answer(mount), letters=2 * _MOST_LETTERS),
        "margin": sentences.margin_sentence(mount),
        "alt": f"The mount from the side: {outline_words(setup.joint.outline)} between block and blank.",
        "limits": [list(row) for row in _limits(mount)],
        "before": [*_proof_first(mount), *BEFORE_EACH_START],
        "ends": list(ENDS_IT),
        "scope": _cut(verdict.scope, letters=2 * _MOST_LETTERS),
        "cautions": [each for each in verdict.cautions if len(each) <= _MOST_LETTERS][:_MOST_CAUTIONS],
        "code": note.code is not None,
        "decided": f"Decided on {note.dated_on}" + (f" by {_cut(note.decided_by)}" if note.decided_by else ""),
        "program": f"jointlab {note.program_version}. The lathe's manual, the glue maker's instructions, local rules "
        "and a qualified instructor stand above this card; the stricter counts.",
    }
    return typeset("card.typ", values=values, drawings=drawings, dated_on=note.dated_on)


def card_record(mount: PublishedMount, *, dated_on: str) -> str:
    """What the square code of a card holds: the answer with its label, its limits and its date, in plain words."""
    setup, verdict = mount.setup, mount.verdict
    margin = "not known" if verdict.margin_lower is None else margin_told(verdict.margin_lower)
    return "\n".join(
        (
            f"mount: {_cut(mount.name, letters=_TITLE_LETTERS)}",
            f"answer: {_cut(outcome_told(verdict), letters=2 * _MOST_LETTERS)}",
            f"margin: {margin} of {rounded(verdict.margin_required)} in a {verdict.criteria.catch} catch",
            f"at most: {rounded(float(setup.lathe.speed_rpm), digits=4)} rpm, "
            f"{rounded(float(setup.work.reach_mm))} mm from the glue line, tailstock {setup.support.tailstock}",
            f"joint: {_cut(str(setup.joint.combination))}",
            f"decided: {dated_on}",
        )
    )


def _proof_first(mount: PublishedMount) -> tuple[str, ...]:
    """The first thing to do with a mount that passed on the condition of a proof."""
    asked = any(finding.code is FindingCode.PROOF_FIRST for finding in mount.verdict.findings)
    return ("Once, before the first cut: proof it as jointlab says, four directions; then note that it held.",) * asked


def _limits(mount: PublishedMount) -> tuple[tuple[str, str], ...]:
    setup, verdict = mount.setup, mount.verdict
    grab = "not known" if verdict.stands_n is None else "none"
    if verdict.stands_n:
        grab = force_words(verdict.stands_n)
    return (
        ("highest speed", f"{rounded(float(setup.lathe.speed_rpm), digits=4)} rpm"),
        ("furthest cut from the glue line", f"{rounded(float(setup.work.reach_mm))} mm"),
        ("tailstock", str(setup.support.tailstock)),
        ("grab it stands there", grab),
        ("glue and block", _cut(str(setup.joint.combination))),
        ("margin asked", f"{rounded(setup.criteria.margin)} in a {setup.criteria.catch} catch"),
    )


def square_code(text: str) -> bytes:
    """A square code that a phone reads, as SVG; holds the text itself and nothing else."""
    import segno

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", scale=4, border=2, xmldecl=True, svgns=True)
    return out.getvalue()


def _cut(text: str, *, letters: int = _MOST_LETTERS) -> str:
    """The text, ended by an ellipsis where a sheet has no room for more."""
    return text if len(text) <= letters else text[: letters - 1].rstrip() + "\N{HORIZONTAL ELLIPSIS}"
