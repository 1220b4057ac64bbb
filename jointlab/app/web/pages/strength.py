"""What strength the joints can be relied on for: worked out once, also when the page is left meanwhile."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from jointlab.app import publishing, workflow
from jointlab.app.doubting import Doubts
from jointlab.app.saying import LEAST_SHARE, MOST_SHARE
from jointlab.app.web.desk import SOON_S, Job, desk_of
from jointlab.app.web.forms import number_text
from jointlab.app.web.images import svg
from jointlab.app.web.pages.pulls import Filter, Filtered
from jointlab.app.web.rendering import is_part, page, problems_of
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, Problem
from jointlab.publish.publication import ProbabilityPlot, PublishedPull
from jointlab.record.vocabulary import Action
from jointlab.strength.values import CombinationStrength

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Asked:
    """The filter, and what is asked of a bound, as typed."""

    chosen: Filter
    coverage: str
    confidence: str

    @property
    def query(self) -> str:
        """As it stands in the address."""
        shares = f"coverage={self.coverage}&confidence={self.confidence}"
        return f"{self.chosen.query}&{shares}" if self.chosen.query else shares


@dataclass(frozen=True, slots=True)
class Found:
    """What the pulls of a filter say, with the pulls, and a plot of each combination that has enough."""

    pulls: tuple[PublishedPull, ...]
    strengths: tuple[CombinationStrength, ...]
    plots: tuple[ProbabilityPlot, ...]


def shares_of(asked: dict[str, str]) -> dict[str, float]:
    """Shares between 0 and 1.

    Raises
    ------
    InputError
        With a problem for each that is none.
    """
    found: dict[str, float] = {}
    problems = []
    for name, text in asked.items():
        try:
            found[name] = float(number_text(text))
        except ValueError:
            found[name] = 0.0
        if not LEAST_SHARE <= found[name] <= MOST_SHARE:
            allowed = f"from {LEAST_SHARE:g} to {MOST_SHARE:g}, such as 0.95"
            problems.append(Problem(f"must be {allowed}", column=name, value=text, allowed=allowed))
    if problems:
        raise InputError(problems, subject="the page")
    return found


@router.get("/strength", response_class=HTMLResponse)
def strength(request: Request, chosen: Filtered, coverage: str = "0.95", confidence: str = "0.95") -> HTMLResponse:
    """The strengths of a filter, or how far they are worked out."""
    asked = Asked(chosen, coverage[:20], confidence[:20])
    shown: dict[str, Any] = {"found": None, "job": None, "problems": {}, "status": 200}
    try:
        job = _job(request, asked)
        shown |= {"found": job.answer()} if job.is_done(within_s=SOON_S) else {"job": job}
    except InputError as error:
        shown |= {"problems": problems_of(error), "status": 422}
    return _shown(request, asked, **shown)


def _shown(request: Request, asked: Asked, *, status: int, **told: Any) -> HTMLResponse:
    from jointlab.publish import sentences, wording

    with workflow.open_book(shop_of(request).place) as book:
        combinations = book.combinations()
    return page(
        request,
        "strength_answer.html.j2" if is_part(request) else "strength.html.j2",
        status=status,
        asked=asked,
        chosen=asked.chosen,
        actions=tuple(Action),
        combinations=combinations,
        words=wording,
        sentences=sentences,
        **told,
    )


def _job(request: Request, asked: Asked) -> Job:
    shares = shares_of({"coverage": asked.coverage, "confidence": asked.confidence})
    place = shop_of(request).place
    with workflow.open_book(place) as book:
        key = ("strength", book.head(), asked.chosen, *shares.values())
    return desk_of(request).job(key, lambda job: _worked_out(place, asked.chosen, shares, job))


def _worked_out(place: Any, chosen: Filter, shares: dict[str, Any], job: Job) -> Found:
    reads = workflow.list_pulls(place, chosen.selection)
    pulls = [read.stored.pull for read in reads]
    doubts = Doubts()
    found = workflow.strengths_of(doubts.watched(pulls), **shares, progress=job.progress)
    strengths = tuple(map(doubts.told, found))
    bounds = {(each.combination.key, each.action): each.working_bound for each in strengths}
    drawn = publishing.publication_of(pulls, publishing.Wish(""), ()).plots if pulls else ()
    plots = tuple(replace(plot, working_bound=bounds[plot.combination.key, plot.action]) for plot in drawn)
    return Found(tuple(PublishedPull(read.stored.pull, read.stress, read.findings) for read in reads), strengths, plots)


@router.get("/strength/strengths.svg")
def drawn(request: Request, chosen: Filtered, coverage: str = "0.95", confidence: str = "0.95") -> Response:
    """Every pull by combination, with the bounds."""
    from jointlab.publish.strengths_figure import strengths_figure

    found: Found = _job(request, Asked(chosen, coverage, confidence)).answer()
    _refuse_none(found.strengths)
    return svg(lambda: strengths_figure(found.pulls, found.strengths))


@router.get("/strength/plot-{number}.svg")
def plotted(
    request: Request, chosen: Filtered, number: int, coverage: str = "0.95", confidence: str = "0.95"
) -> Response:
    """The probability plot of one combination, counted from 1."""
    from jointlab.publish.probability_figure import probability_figure

    found: Found = _job(request, Asked(chosen, coverage, confidence)).answer()
    _refuse_none(found.plots[number - 1 : number] if number > 0 else ())
    return svg(lambda: probability_figure(found.plots[number - 1]))


def _refuse_none(drawn: tuple[Any, ...]) -> None:
    if not drawn:
        raise InputError(Problem("there is nothing of that kind to draw"), subject="the figure")
