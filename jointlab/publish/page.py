"""The page: one HTML file that needs nothing but itself."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from jointlab.publish import sentences, tables, wording
from jointlab.publish.drawings import Drawings
from jointlab.publish.envelope_table import envelope_tables
from jointlab.publish.grab_figure import grab_alt
from jointlab.publish.inlined import inlined
from jointlab.publish.licences import licence_address
from jointlab.publish.publication import Publication
from jointlab.publish.told_findings import told_findings

if TYPE_CHECKING:
    from jinja2 import Environment

MOST_PLOTS = 12
"""Probability plots a page shows; more would bury it."""

MOST_QUESTIONS = 100
"""Questioned readings a page names."""


def results_page(
    publication: Publication, drawings: Drawings | None = None, found: tables.Columns | None = None
) -> str:
    """The whole publication as one HTML page: question, answer, figures, tables, methods, cautions, raw pulls.

    The page asks nothing of a network, follows the reader's choice of light or dark, and prints. Whatever a shop wrote
    is shown as text. The same publication gives the same page to the byte. ``drawings``: those of the publication,
    where some are drawn already. ``found``: the ``columns_of`` its pulls, where it is known.
    """
    drawn = Drawings(publication) if drawings is None else drawings
    columns = tables.columns_of(publication.pulls) if found is None else found
    template = page_environment().get_template("page.html.j2")
    questions = [(each.pull, finding) for each in publication.pulls for finding in each.findings]
    return template.render(
        publication=publication,
        dataset=_dataset(publication),
        question=sentences.question_of(publication),
        answer=sentences.answer_of(publication),
        strengths_svg=_markup(drawn.strengths(), name="strengths") if publication.strengths else None,
        strengths_alt=sentences.strengths_alt(publication.pulls, publication.strengths),
        strengths_table=tables.strengths_table(publication.strengths),
        findings=told_findings(publication.strengths),
        mounts=_mount_parts(drawn),
        field_table=tables.field_table(publication.field),
        plots=_drawn_plots(drawn),
        plots_left_out=publication.plots_left_out + max(0, len(publication.plots) - MOST_PLOTS),
        bounds_table=tables.bounds_table(publication.strengths),
        families_table=tables.families_table(publication.strengths),
        pulls_table=tables.pulls_table(publication.pulls, columns),
        same_in_all=tables.same_in_all(publication.pulls, columns),
        pulls_left_out=max(0, len(publication.pulls) - tables.MOST_PULLS),
        questions=questions[:MOST_QUESTIONS],
        questions_left_out=max(0, len(questions) - MOST_QUESTIONS),
    )


def _dataset(publication: Publication) -> Any:
    """The publication as a schema.org Dataset, for those who search by machine; no letter of it can end the element."""
    from markupsafe import Markup

    told: dict[str, Any] = {
        "@context": "https://schema.org/",
        "@type": "Dataset",
        "name": publication.title,
        "description": publication.provenance or "Pull-apart tests of glue joints, as recorded by the shop.",
        "dateCreated": publication.dated_on[:10],
        "license": licence_address(publication.licence),
        "keywords": ["woodturning", "glue joints", "pull-apart test"],
        "variableMeasured": {"@type": "PropertyValue", "name": "strength of a glue joint", "unitText": "MPa"},
        "distribution": [
            {"@type": "DataDownload", "encodingFormat": form, "contentUrl": name}
            for name, form in ((publication.pulls_file, "text/csv"), (publication.descriptor_file, "application/json"))
            if name is not None
        ],
    }
    if publication.shop:
        told["creator"] = {"@type": "Organization", "name": publication.shop}
    return Markup(json.dumps(told, ensure_ascii=False).replace("<", "\\u003c"))


def page_environment() -> Environment:
    """Templates of this room; whatever a shop wrote is shown as text."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("jointlab.publish"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["rounded"] = wording.rounded
    environment.filters["counted"] = wording.counted
    return environment


def _markup(svg: bytes, *, name: str) -> Any:
    from markupsafe import Markup

    return Markup(inlined(svg, name=name))


def _drawn_plots(drawn: Drawings) -> list[dict[str, Any]]:
    return [
        {
            "svg": _markup(drawn.plot(number), name=f"plot{number + 1}"),
            "alt": sentences.plot_alt(plot),
            "title": f"{plot.combination}, {plot.action}",
        }
        for number, plot in enumerate(drawn.publication.plots[:MOST_PLOTS])
    ]


def _mount_parts(drawn: Drawings) -> list[dict[str, Any]]:
    """What the page says of each mount; a caution that an earlier mount gave is not said again."""
    said: set[str] = set()
    parts = []
    for number, mount in enumerate(drawn.publication.mounts):
        parts.append(_mount_part(drawn, number, [each for each in mount.verdict.cautions if each not in said]))
        said.update(mount.verdict.cautions)
    return parts


def _mount_part(drawn: Drawings, number: int, cautions: list[str]) -> dict[str, Any]:
    mount, nth = drawn.publication.mounts[number], number + 1
    demand, envelope = drawn.demand(number), drawn.envelope(number)
    return {
        "name": mount.name.replace("_", " "),
        "cautions": cautions,
        "verdict": mount.verdict,
        "answer": sentences.mount_answer(mount),
        "shape": sentences.ANSWER_SHAPES[mount.verdict.verdict],
        "margin": sentences.margin_sentence(mount),
        "catches": sentences.catch_sentence(mount),
        "grab": _markup(drawn.grab(number), name=f"grab{nth}"),
        "grab_alt": grab_alt(mount),
        "svg": None if demand is None else _markup(demand, name=f"demand{nth}"),
        "alt": sentences.demand_alt(mount),
        "section": _markup(drawn.section(number), name=f"section{nth}"),
        "section_alt": sentences.section_alt(mount),
        "setup": tables.mount_table(mount.setup),
        "envelope": None if envelope is None else _markup(envelope, name=f"envelope{nth}"),
        "envelope_alt": sentences.envelope_alt(mount),
        "envelope_tables": envelope_tables(mount.envelope),
        "links": tables.links_table(mount),
        "factors": tables.factors_table(mount),
        "relaxed": mount.setup.criteria.relaxed,
    }
