"""Which combinations are shown to differ, under a filter or at a plan's planned look."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, HTTPException, Request
from starlette.responses import HTMLResponse, Response

from jointlab.app import comparing, planning, workflow
from jointlab.app.web.desk import SOON_S, Job, desk_of
from jointlab.app.web.images import svg
from jointlab.app.web.pages.pulls import Filter, Filtered
from jointlab.app.web.pages.strength import shares_of
from jointlab.app.web.rendering import is_part, page, problems_of
from jointlab.app.web.shop import shop_of
from jointlab.book.stored import PaperKind
from jointlab.errors import AnalysisError, InputError, UnknownEntryError

router = APIRouter()
Comparisons = tuple[comparing.PlannedLook | None, tuple[comparing.Compared, ...]]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is compared and how, as typed; with a plan its own control and confidence hold and the filter is aside."""

    chosen: Filter
    control: str = ""
    analysis: str = ""
    confidence: str = "0.95"
    trend: str = ""
    plan: str = ""

    @property
    def query(self) -> str:
        """As it stands in the address."""
        own = {name: getattr(self, name) for name in ("control", "analysis", "confidence", "trend", "plan")}
        typed = urlencode({name: text for name, text in own.items() if text})
        return f"{self.chosen.query}&{typed}" if self.chosen.query else typed


def asked_of(
    chosen: Filtered, control: str = "", analysis: str = "", confidence: str = "0.95", trend: str = "", plan: str = ""
) -> Asked:
    """What the address asks."""
    return Asked(chosen, control[:500], analysis[:50], confidence[:20], trend[:50], plan[:200])


Asking = Annotated[Asked, Depends(asked_of)]


@router.get("/compare", response_class=HTMLResponse)
def compare(request: Request, asked: Asking) -> HTMLResponse:
    """The comparison, or how it is going."""
    told: dict[str, Any] = {"look": None, "compared": (), "job": None, "problems": {}, "nothing": ""}
    status = 200
    try:
        job = _job(request, asked)
        if job.is_done(within_s=SOON_S):
            told["look"], told["compared"] = job.answer()
        else:
            told["job"] = job
    except AnalysisError as error:
        told["nothing"] = str(error)
    except (InputError, UnknownEntryError) as error:
        problems = problems_of(error)
        told["problems"] = {(name.lstrip("-") or "plan"): said for name, said in problems.items()}
        status = error.http_status
    return _shown(request, asked, status, told)


def _shown(request: Request, asked: Asked, status: int, told: dict[str, Any]) -> HTMLResponse:
    from jointlab.compare.trends import Quantity
    from jointlab.compare.values import Analysis
    from jointlab.publish import wording
    from jointlab.publish.interaction_figure import why_not_drawn

    place = shop_of(request).place
    with workflow.open_book(place) as book:
        combinations = book.combinations()
    return page(
        request,
        "compare_answer.html.j2" if is_part(request) else "compare.html.j2",
        status=status,
        asked=asked,
        chosen=asked.chosen,
        combinations=combinations,
        plans=[kept.plan.name for kept in planning.kept_plans(place)],
        analyses=tuple(Analysis),
        quantities=tuple(Quantity),
        actions=tuple(dict.fromkeys(one.action for one in told["compared"])),
        words=wording,
        not_drawn=why_not_drawn,
        **told,
    )


def _job(request: Request, asked: Asked) -> Job:
    place = shop_of(request).place
    sure = shares_of({"confidence": asked.confidence})["confidence"]
    quantity = comparing.trend_quantity(asked.trend or None)
    with workflow.open_book(place) as book:
        plan = planning.followed(book, book.paper(_PLAN, asked.plan)) if asked.plan else None
        key = ("compare", book.head(), asked, None if plan is None else plan.revision)
    also = frozenset({comparing.Also.BREAKS})
    analysis = asked.analysis or None

    def work(job: Job) -> Comparisons:
        if asked.plan:
            return comparing.compare_at_look(
                place, asked.plan, analysis=analysis, also=also, trend=quantity, progress=job.progress
            )
        found = comparing.compare_in(
            place, asked.chosen.selection, control=asked.control or None, analysis=analysis, confidence=sure,
            also=also, trend=quantity, progress=job.progress,
        )  # fmt: skip
        return None, found

    return desk_of(request).job(key, work)


_PLAN = PaperKind.PLAN


@router.get("/compare/{drawing}-{number}.svg")
def drawn(request: Request, asked: Asking, drawing: str, number: int) -> Response:
    """One figure of one comparison, counted from 1."""
    compared = _job(request, asked).answer()[1]
    draw = _drawing(compared[number - 1], drawing) if 0 < number <= len(compared) else None
    if draw is None:
        raise HTTPException(404, "There is nothing of that kind to draw.")
    return svg(draw)


def _drawing(one: comparing.Compared, drawing: str) -> Callable[[], bytes] | None:
    from jointlab.publish.breaks_figure import breaks_figure
    from jointlab.publish.effects_figure import effects_figure
    from jointlab.publish.interaction_figure import interaction_figure
    from jointlab.publish.trend_figure import trend_figure

    breaks, trend = one.breaks, one.trend
    if drawing == "effects":
        return lambda: effects_figure([(one.action, one.comparison)])
    if drawing == "interaction":
        return lambda: interaction_figure(one.comparison)
    if drawing == "breaks" and breaks is not None:
        return lambda: breaks_figure(breaks.shares)
    if drawing == "trend" and trend is not None:
        return lambda: trend_figure(trend.trend)
    return None
