"""Plans: made in the address, kept in the book, printed, and followed until the last pull."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab import __version__
from jointlab.app import planning, workflow
from jointlab.app.looking import doubts_left
from jointlab.app.publishing import today
from jointlab.app.saying import doubt_left_told
from jointlab.app.web.desk import DRAWING, SOON_S, Job, desk_of
from jointlab.app.web.forms import number_text
from jointlab.app.web.images import download, svg
from jointlab.app.web.rendering import is_part, page, problems_of
from jointlab.app.web.security import posted
from jointlab.app.web.shop import shop_of
from jointlab.book.book import Book
from jointlab.errors import InputError, JointlabError, Problem
from jointlab.plan.bench_sheet import table_to_fill
from jointlab.plan.values import TestPlan
from jointlab.record.vocabulary import Action

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]

NUMBERS = ("expected_mpa", "hold_mpa", "difference_pct", "spread_pct", "cure_h", "diameter_mm", "hole_mm", "width_mm",
           "depth_mm", "arm_mm")  # fmt: skip
COUNTS = ("glue_ups", "days_between", "looks", "each", "seed")
TEXTS = ("combinations", "glued_from", "name", "control", "rig", "action")
NEEDED = ("combinations", "expected_mpa", "glued_from")
CSV = "text/csv; charset=utf-8"


def typed_of(fields: Mapping[str, Any]) -> dict[str, str]:
    """What is asked of a plan, as typed; nothing empty."""
    known = (*TEXTS, *NUMBERS, *COUNTS)
    given = ((name, fields.get(name)) for name in known)
    return {name: text.strip()[:4000] for name, text in given if isinstance(text, str) and text.strip()}


def words_of(typed: Mapping[str, str]) -> planning.PlanWords:
    """The plan asked for, in the words of the command line.

    Raises
    ------
    InputError
        With a problem for each field that is needed and missing, or is no number.
    """
    problems = [Problem("is needed", column=name) for name in NEEDED if name not in typed]
    numbers: dict[str, Any] = {}
    for name in (*NUMBERS, *COUNTS):
        if name in typed:
            try:
                numbers[name] = int(typed[name]) if name in COUNTS else float(number_text(typed[name]))
            except ValueError:
                told = "must be a whole number" if name in COUNTS else "must be a number"
                problems.append(Problem(told, column=name, value=typed[name]))
    action = typed.get("action", Action.PRY)
    if action not in set(Action):
        problems.append(Problem(f"must be one of: {', '.join(Action)}", column="action", value=action))
    if problems:
        raise InputError(problems, subject="the plan")
    texts: dict[str, Any] = {name: typed[name] for name in ("glued_from", "name", "control", "rig") if name in typed}
    lines = tuple(line.strip() for line in typed["combinations"].splitlines() if line.strip())
    return planning.PlanWords(lines, action=Action(action), **texts, **numbers)


@router.get("/plan", response_class=HTMLResponse)
def plan(request: Request) -> Response:
    """The plan the address asks for, the form, and the plans of the book."""
    typed = typed_of(request.query_params)
    if not is_part(request) and "" in request.query_params.values():
        return RedirectResponse(f"/plan?{urlencode(typed)}", status_code=303)
    return _shown(request, typed)


def _shown(
    request: Request, typed: dict[str, str], *, error: JointlabError | None = None, status: int = 200
) -> HTMLResponse:
    told: dict[str, Any] = {"made": None, "job": None, "problems": {}}
    try:
        if error is not None:
            raise error
        if typed:
            job = _job(request, typed)
            told |= {"made": job.answer()} if job.is_done(within_s=SOON_S) else {"job": job}
    except JointlabError as failure:
        told["problems"] = field_problems(failure)
        status = failure.http_status
    place = shop_of(request).place
    with workflow.open_book(place) as book:
        combinations, rigs = book.combinations(), book.rigs()
        doubts = _doubts(book, told["made"])
    return page(
        request,
        "plan_answer.html.j2" if is_part(request) else "plan.html.j2",
        status=status,
        typed={name: typed.get(name, "") for name in (*TEXTS, *NUMBERS, *COUNTS)} | {"reason": ""},
        given=typed,
        query=urlencode(typed),
        kept=planning.kept_plans(place),
        known=[str(one.combination) for one in combinations],
        rigs=[stored.rig.name for stored in rigs],
        actions=tuple(Action),
        today=today(),
        doubts=doubts,
        needs_reason="--reason" in str(error or ""),
        **told,
        **_words(),
    )


def _doubts(book: Book, made: TestPlan | None) -> list[str]:
    """What earlier looks left for the looks of a plan."""
    return [] if made is None else [doubt_left_told(each) for each in doubts_left(book, made.combinations)]


def _words() -> dict[str, Any]:
    from jointlab.plan.bench_sheet import bench_sheets
    from jointlab.publish import bench_sheets as sheets
    from jointlab.publish import wording

    return {"words": wording, "sheets_of": bench_sheets, "asked_words": sheets.asked_words,
            "looks_words": sheets.looks_words}  # fmt: skip


def field_problems(error: JointlabError) -> dict[str, list[str]]:
    """Problems by the field they belong to: the command line's flags are the fields here."""
    names = {"combination": "combinations"}
    found: dict[str, list[str]] = {}
    for column, said in problems_of(error).items():
        bare = column.lstrip("-")
        found.setdefault(names.get(bare, bare), []).extend(text.replace("--", "") for text in said)
    return found


def _job(request: Request, typed: Mapping[str, str]) -> Job:
    words, place = words_of(typed), shop_of(request).place
    with workflow.open_book(place) as book:
        rigs = tuple((stored.rig, stored.revision) for stored in book.rigs())
    return desk_of(request).job(("plan", words, rigs), lambda _: planning.planned(place, words))


@router.post("/plan/keep", response_class=HTMLResponse)
def keep(request: Request, form: Form) -> Response:
    """Keep the plan in the book under its name."""
    typed, shop = typed_of(form), shop_of(request)
    try:
        if "name" not in typed:
            raise InputError(Problem("is needed to keep it", column="name"), subject="the plan")
        made: TestPlan = _job(request, typed).answer()
        kept = planning.keep_plan(shop.place, made, reason=str(form.get("reason", "")) or None, by=shop.by)
    except JointlabError as error:
        return _shown(request, typed, error=error)
    return RedirectResponse(f"/plan/kept?{urlencode({'name': kept.key})}", status_code=303)


@router.get("/plan/kept", response_class=HTMLResponse)
def kept_one(request: Request, name: str) -> HTMLResponse:
    """A plan of the book: what is pulled, what is left, what was done otherwise."""
    place = shop_of(request).place
    found = planning.kept_plan(place, name)
    with workflow.open_book(place) as book:
        doubts = _doubts(book, found.plan)
    query = urlencode({"kept": found.plan.name})
    return page(request, "plan_kept.html.j2", found=found, made=found.plan, query=query, doubts=doubts, **_words())


def _asked_for(request: Request) -> TestPlan:
    """The plan of the book that the address names, or the one it describes."""
    name = request.query_params.get("kept")
    if name is not None:
        return planning.kept_plan(shop_of(request).place, name).plan
    made: TestPlan = _job(request, typed_of(request.query_params)).answer()
    return made


@router.get("/plan/sheets.pdf")
def sheets(request: Request) -> Response:
    """The bench sheets."""
    from jointlab.publish.bench_sheets import SheetNote, bench_sheets_pdf

    made = _asked_for(request)
    with DRAWING:
        content = bench_sheets_pdf(made, SheetNote(dated_on=today(), program_version=__version__))
    return download(content, kind="application/pdf", name=f"{made.name}-bench-sheets.pdf")


@router.get("/plan/to-fill.csv")
def to_fill(request: Request) -> Response:
    """The table to fill, which imports as it is once filled."""
    made = _asked_for(request)
    return download(table_to_fill(made), kind=CSV, name=f"{made.name}-to-fill.csv")


@router.get("/plan/power.svg")
def power(request: Request) -> Response:
    """Chance of success by specimens."""
    from jointlab.publish.power_figure import power_figure

    made = _asked_for(request)
    return svg(lambda: power_figure(made))
