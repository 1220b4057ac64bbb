"""Everything a publication consists of, as bytes by name: page, PDF, figures, tables, mounts, descriptor."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jointlab.publish.drawing import ImageForm
from jointlab.publish.drawings import Drawings
from jointlab.publish.package import data_package
from jointlab.publish.page import results_page
from jointlab.publish.pdf import results_pdf
from jointlab.publish.publication import Publication
from jointlab.publish.strengths_figure import strengths_figure
from jointlab.publish.tables import columns_of
from jointlab.publish.typesetting import Paper

PAGE, PDF = "index.html", "results.pdf"
FIGURES, MOUNTS = "figures", "mounts"


def published_files(
    publication: Publication,
    *,
    mounts: Mapping[str, bytes] | None = None,
    photos: Mapping[str, bytes] | None = None,
    chain: str | None = None,
    made: Mapping[str, Any] | None = None,
    paper: Paper = Paper.A4,
) -> dict[str, bytes]:
    """Every file of a publication by its relative name, the descriptor ``datapackage.json`` last.

    Parameters
    ----------
    publication
        What is published; ``disclosed`` first leaves out what the shop keeps private.
    mounts
        Files about the mounts, by name: their description, verdict, course.
    photos
        JPEG by name, only those the shop chose to show.
    chain, made
        For the descriptor, as in ``data_package``.
    paper
        Sheet of the PDF.
    """
    drawings, found = Drawings(publication), columns_of(publication.pulls)
    files: dict[str, bytes] = {PAGE: results_page(publication, drawings, found).encode("utf-8")}
    files[PDF] = results_pdf(publication, drawings, paper=paper)
    files |= figure_files(drawings)
    files |= {f"{MOUNTS}/{name}": content for name, content in (mounts or {}).items()}
    files |= {f"photos/{name}": content for name, content in (photos or {}).items()}
    return data_package(publication, files=files, chain=chain, made=made, found=found)


def figure_files(drawings: Drawings) -> dict[str, bytes]:
    """The figures of a publication, each as SVG and the strengths as PNG too, by relative name."""
    publication = drawings.publication
    figures: dict[str, bytes] = {}
    if publication.strengths:
        png = strengths_figure(publication.pulls, publication.strengths, form=ImageForm.PNG)
        figures = {f"{FIGURES}/strengths.svg": drawings.strengths(), f"{FIGURES}/strengths.png": png}
    for number, mount in enumerate(publication.mounts):
        drawn = {
            "grab": drawings.grab(number),
            "section": drawings.section(number),
            "demand": drawings.demand(number),
            "envelope": drawings.envelope(number),
        }
        figures |= {f"{FIGURES}/{mount.name}-{kind}.svg": svg for kind, svg in drawn.items() if svg is not None}
    return figures
