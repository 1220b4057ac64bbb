"""The publication on paper: the same question, answer, figures and tables as the page, as a tagged PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from jointlab.publish import sentences, tables
from jointlab.publish.drawing import GREEN, MUTED, PLUM, RUST
from jointlab.publish.drawings import Drawings
from jointlab.publish.envelope_table import envelope_tables
from jointlab.publish.grab_figure import grab_alt
from jointlab.publish.page import MOST_PLOTS
from jointlab.publish.publication import Publication, PublishedMount, PublishedPull
from jointlab.publish.strengths_figure import MOST_ROWS, furthest_mpa, strengths_figure
from jointlab.publish.tables import Table
from jointlab.publish.told_findings import told_findings
from jointlab.publish.typesetting import Paper, typeset
from jointlab.record.finding import Finding
from jointlab.record.vocabulary import Action
from jointlab.strength.values import CombinationStrength
from jointlab.verdict.values import Outcome

ANSWER_COLOURS = {Outcome.PASS: GREEN, Outcome.FAIL: RUST, Outcome.UNDECIDED: PLUM}

MOST_ROWS_ON_PAPER = 50
"""Bounds, and fitted shapes, that a sheet of paper shows; the rest is in the file beside it."""

_NARROW, _WIDEST, _LONG = 20, 60, 16
_LETTERS_PT, _SMALL_PT, _INSET_PT = 8.0, 7.0, 9.0
_LETTER_EM, _DIGIT_EM, _BOLD_EM = 0.57, 0.64, 0.68
_ACROSS_PT, _LEAST_SHARE_PT = 490.0, 70.0
_ROWS_A_FIGURE = 4


def results_pdf(publication: Publication, drawings: Drawings | None = None, *, paper: Paper = Paper.A4) -> bytes:
    """The whole publication as a PDF with vector figures, tagged for readers who listen (PDF/UA-1).

    The same publication gives the same bytes. Above 500 pulls the first 500 are shown. ``drawings``: those of the
    publication, where some are drawn already.
    """
    drawn = _drawn(Drawings(publication) if drawings is None else drawings)
    values = _values(publication) | {"paper": str(paper)}
    return typeset("results.typ", values=values, drawings=drawn, dated_on=publication.dated_on)


def _drawn(drawings: Drawings) -> dict[str, bytes]:
    publication = drawings.publication
    up_to_mpa, parts = furthest_mpa(publication.pulls), _parts(publication)
    marks = sum(len(pulls) for pulls, _ in parts)
    drawn = {
        f"strengths{number}.svg": strengths_figure(pulls, part, up_to_mpa=up_to_mpa, beside=marks - len(pulls))
        for number, (pulls, part) in enumerate(parts)
    }
    for number in range(len(publication.mounts)):
        drawn[f"grab{number}.svg"] = drawings.grab(number)
        drawn[f"section{number}.svg"] = drawings.section(number)
        for kind, svg in (("demand", drawings.demand(number)), ("envelope", drawings.envelope(number))):
            if svg is not None:
                drawn[f"{kind}{number}.svg"] = svg
    for number in range(len(publication.plots[:MOST_PLOTS])):
        drawn[f"plot{number}.svg"] = drawings.plot(number)
    return drawn


def _values(publication: Publication) -> dict[str, Any]:
    told = [publication.shop, publication.dated_on, f"{len(publication.pulls)} pulls", publication.provenance]
    left_out = len(publication.pulls) - tables.MOST_PULLS
    brief, same = tables.brief_pulls(publication.pulls)
    first = publication.mounts[0].verdict.verdict if publication.mounts else None
    return {
        "title": publication.title,
        "told": " \N{MIDDLE DOT} ".join(word for word in told if word),
        "footer": f"jointlab {publication.program_version} \N{MIDDLE DOT} data: {publication.licence}",
        "question": sentences.question_of(publication),
        "answer": sentences.answer_of(publication),
        "mark": _mark(first),
        "figures": [
            {
                "file": f"strengths{number}.svg",
                "alt": sentences.strengths_alt(pulls, part),
                "caption": "Every pull; a hollow triangle points to where its strength lies.",
            }
            for number, (pulls, part) in enumerate(_parts(publication))
        ],
        "strengths": _sheet(tables.strengths_table(publication.strengths)),
        "findings": [{"about": told.about, "text": told.text} for told in told_findings(publication.strengths)],
        "mounts": _mounts(publication.mounts),
        "field": _sheet(tables.field_table(publication.field)),
        "plots": [
            {
                "file": f"plot{number}.svg",
                "alt": sentences.plot_alt(plot),
                "caption": f"{plot.combination}, {plot.action}",
            }
            for number, plot in enumerate(publication.plots[:MOST_PLOTS])
        ],
        "bounds": _sheet(tables.bounds_table(publication.strengths, most=MOST_ROWS_ON_PAPER)),
        "families": _sheet(tables.families_table(publication.strengths, most=MOST_ROWS_ON_PAPER)),
        "methods": [{"title": note.title, "text": note.text} for note in publication.methods],
        "sources": [f"{source.text} ({source.standing})" for source in publication.sources],
        "cautions": [{"title": group.title, "sentences": list(group.sentences)} for group in publication.cautions],
        "left_out": f"The first {tables.MOST_PULLS} of {len(publication.pulls)}." if left_out > 0 else "",
        "pulls": _sheet(brief, letters_pt=_SMALL_PT),
        "same": "; ".join(f"{name} {value}" for name, value in same),
    }


def _mark(answer: Outcome | None) -> dict[str, str]:
    return {"colour": MUTED if answer is None else ANSWER_COLOURS[answer]}


def _told(finding: Finding) -> str:
    return f"Open: {finding.text}" if finding.blocks else finding.text


_Part = tuple[tuple[PublishedPull, ...], tuple[CombinationStrength, ...]]


def _parts(publication: Publication) -> list[_Part]:
    """Strengths by the figure, with their pulls: as many as a sheet of paper bears, the first 40 of very many."""
    own: dict[tuple[tuple[str, str, str], Action], list[PublishedPull]] = {}
    for published in publication.pulls:
        own.setdefault((published.pull.joint.combination.key, published.pull.action), []).append(published)
    shown = publication.strengths[:MOST_ROWS]
    parts = []
    for first in range(0, len(shown), _ROWS_A_FIGURE):
        part = shown[first : first + _ROWS_A_FIGURE]
        pulls = [each for strength in part for each in own.get((strength.combination.key, strength.action), ())]
        parts.append((tuple(pulls), part))
    return parts


def _mounts(mounts: Sequence[PublishedMount]) -> list[dict[str, Any]]:
    """What is said of each mount; a caution that an earlier one gave is not said again."""
    said: set[str] = set()
    shown = []
    for number, mount in enumerate(mounts):
        shown.append(_mount(mount, number, [each for each in mount.verdict.cautions if each not in said]))
        said.update(mount.verdict.cautions)
    return shown


def _mount(mount: PublishedMount, number: int, cautions: Sequence[str]) -> dict[str, Any]:
    verdict = mount.verdict
    parts: list[tuple[str, Sequence[str]]] = [
        ("Less was asked than usual", mount.setup.criteria.relaxed),
        ("Why", verdict.reasons),
        ("What would settle it", [way.text for way in verdict.would_settle]),
        ("What should be known", [_told(finding) for finding in verdict.findings]),
        ("Cautions for this mount", cautions),
    ]
    figure = {"file": f"demand{number}.svg", "alt": sentences.demand_alt(mount), "caption": "Asked, and relied on."}
    return {
        "heading": f"The mount: {mount.name.replace('_', ' ')}",
        "mark": _mark(verdict.verdict),
        "grab": {
            "file": f"grab{number}.svg",
            "alt": grab_alt(mount),
            "caption": "The grab it stands with the margin asked, beside the classes of catch.",
        },
        "answer": sentences.mount_answer(mount),
        "margin": f"{sentences.margin_sentence(mount)} {sentences.catch_sentence(mount)}",
        "figure": figure if mount.demand.links else None,
        "section": {
            "file": f"section{number}.svg",
            "alt": sentences.section_alt(mount),
            "caption": "From the side, to scale; the ringed mark stands on the link that governs.",
        },
        "setup": _sheet(tables.mount_table(mount.setup)),
        "envelope": {
            "file": f"envelope{number}.svg",
            "alt": sentences.envelope_alt(mount),
            "caption": "What the same mount would stand and allow, one size changed at a time.",
        }
        if mount.envelope
        else None,
        "envelope_tables": [_sheet(each) for each in envelope_tables(mount.envelope)],
        "links": _sheet(tables.links_table(mount)),
        "factors": _sheet(tables.factors_table(mount)),
        "parts": [{"title": title, "sentences": list(said)} for title, said in parts if said],
        "scope": verdict.scope,
    }


def _sheet(table: Table, *, letters_pt: float = _LETTERS_PT) -> dict[str, Any]:
    """A table as the template takes it: narrow columns as wide as they need, the others share what is left.

    A table less than half as wide as the sheet stands in two columns.
    """
    rows: list[Any] = [list(row) for row in table.rows]
    for place, words in reversed(table.parted):
        rows.insert(place, words)
    widths = _widths(table, letters_pt)
    narrow = sum(width.get("pt", _ACROSS_PT) for width in widths) < _ACROSS_PT / 2
    return {
        "caption": table.caption,
        "head": list(table.head) if any(table.head) else [],
        "rows": rows,
        "numeric": sorted(table.numeric),
        "widths": widths,
        "columns": 2 if narrow and len(table.rows) > _LONG else 1,
    }


def _widths(table: Table, letters_pt: float) -> list[dict[str, float]]:
    """Width of each column, in points or as a share; those of most letters share where not all have what they need."""
    letters = [max((len(row[place]) for row in table.rows), default=0) for place in range(len(table.head))]
    needed_pt = []
    for place, head in enumerate(table.head):
        of_head = max([len(head) / 2, *(len(word) for word in head.split())])
        cells_em = letters[place] * (_DIGIT_EM if place in table.numeric else _LETTER_EM)
        needed_pt.append(round(max(cells_em, of_head * _BOLD_EM) * letters_pt + _INSET_PT, 1))
    sharing: set[int] = {place for place, count in enumerate(letters) if count > _NARROW}
    for place in sorted(range(len(letters)), key=lambda place: -letters[place]):
        fixed_pt = sum(pt for other, pt in enumerate(needed_pt) if other not in sharing)
        if fixed_pt + _LEAST_SHARE_PT * len(sharing) > _ACROSS_PT:
            sharing.add(place)
    return [
        {"share": float(min(letters[place], _WIDEST))} if place in sharing else {"pt": pt}
        for place, pt in enumerate(needed_pt)
    ]
