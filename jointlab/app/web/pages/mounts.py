"""What became of each mount: taken up with its verdict, followed, ended; never entered as a strength."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab.app import mounting
from jointlab.app.web.forms import number_text
from jointlab.app.web.images import svg
from jointlab.app.web.mount_state import state_of, toml_of
from jointlab.app.web.rendering import page, problems_of
from jointlab.app.web.security import posted
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, JointlabError, Problem
from jointlab.mount.setup import CatchClass
from jointlab.verdict.field_record import End, Ended, Event, Inspection, Phase, Removal

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]


@router.get("/mounts", response_class=HTMLResponse)
def mounts(request: Request) -> HTMLResponse:
    """Predicted against happened, mount by mount."""
    records = mounting.field_records(shop_of(request).place)
    drawn = any(record.predicted.margin_lower is not None for record in records)
    return page(request, "mounts.html.j2", records=records, drawn=drawn, catches=tuple(CatchClass))


@router.get("/mounts/happened.svg")
def happened(request: Request) -> Response:
    """Margins said against how each mount ended."""
    from jointlab.publish.happened_figure import happened_figure

    records = [
        each for each in mounting.field_records(shop_of(request).place) if each.predicted.margin_lower is not None
    ]
    if not records:
        raise InputError(Problem("no mount with a margin is in the book"), subject="the figure")
    return svg(lambda: happened_figure(records))


@router.post("/mounts/start", response_class=HTMLResponse)
def start(request: Request, form: Form) -> Response:
    """Take a mount up with the verdict it has now."""
    state, shop = state_of(form), shop_of(request)
    described = mounting.Described(f"{state.name.replace('/', '_')}.toml", toml_of(state))
    try:
        reason = str(form.get("reason", "")) or None
        started = mounting.start_described(shop.place, described, name=state.name, reason=reason, by=shop.by)
    except JointlabError as error:
        return page(
            request, "mounts_refused.html.j2", status=error.http_status, problems=problems_of(error), state=state
        )
    return _to(started.name)


def _to(name: str) -> Response:
    return RedirectResponse(f"/mounts/one?{urlencode({'name': name})}", status_code=303)


@router.get("/mounts/one", response_class=HTMLResponse)
def one(request: Request, name: str) -> HTMLResponse:
    """One mount of the book."""
    return _folder(request, name, {})


def _folder(
    request: Request, name: str, typed: dict[str, str], *, error: JointlabError | None = None, part: str = ""
) -> HTMLResponse:
    record, photos = mounting.field_record(shop_of(request).place, name)
    problems = {} if error is None else {key.lstrip("-"): said for key, said in problems_of(error).items()}
    words = {"phases": tuple(Phase), "inspections": tuple(Inspection), "ends": tuple(End), "removals": tuple(Removal)}
    return page(
        request,
        "mounts_one.html.j2",
        status=200 if error is None else error.http_status,
        record=record,
        photos=photos,
        typed=typed,
        problems=problems,
        part_wrong=part,
        catches=tuple(CatchClass),
        **words,
    )


@router.post("/mounts/event", response_class=HTMLResponse)
def event(request: Request, form: Form) -> Response:
    """Take down what happened to a mount."""
    typed, shop = _typed(form), shop_of(request)
    name = typed.get("mount", "")
    try:
        mounting.keep_event(shop.place, name, event_of(typed), by=shop.by)
    except InputError as error:
        return _folder(request, name, typed, error=error, part="event")
    return _to(name)


def _typed(form: dict[str, Any]) -> dict[str, str]:
    return {key: text.strip()[:4000] for key, text in form.items() if isinstance(text, str) and text.strip()}


def event_of(typed: dict[str, str]) -> Event:
    """What happened, as it was typed.

    Raises
    ------
    InputError
        With a problem for each number that is none, and each word that is not of its list.
    """
    numbers: dict[str, float] = {}
    problems = []
    for name in ("hours", "top_rpm", *CatchClass):
        try:
            numbers[name] = float(number_text(typed.get(name, "0")))
        except ValueError:
            problems.append(Problem("must be a number", column=name, value=typed[name]))
    problems += _wrong_words(typed, {"phase": Phase, "inspection": Inspection})
    problems += [
        Problem("must be a whole number", column=each, value=typed[each])
        for each in CatchClass
        if not numbers.get(each, 0.0).is_integer()
    ]
    if problems:
        raise InputError(problems, subject="the event")
    return Event(
        at="",
        phase=Phase(typed["phase"]) if "phase" in typed else None,
        hours=numbers["hours"],
        top_rpm=numbers["top_rpm"] if "top_rpm" in typed else None,
        catches=tuple((each, int(numbers[each])) for each in CatchClass if numbers[each]),
        inspection=Inspection(typed["inspection"]) if "inspection" in typed else None,
        note=typed.get("note", ""),
    )


def _wrong_words(typed: dict[str, str], words: dict[str, Any]) -> list[Problem]:
    return [
        Problem(f"must be one of: {', '.join(known)}", column=name, value=typed[name])
        for name, known in words.items()
        if name in typed and typed[name] not in set(known)
    ]


@router.post("/mounts/end", response_class=HTMLResponse)
def end(request: Request, form: Form) -> Response:
    """Take down how a mount ended and how its block came off."""
    typed, shop = _typed(form), shop_of(request)
    name = typed.get("mount", "")
    try:
        missing = [Problem("is needed", column=each) for each in ("end", "removal") if each not in typed]
        problems = [*missing, *_wrong_words(typed, {"end": End, "removal": Removal})]
        if problems:
            raise InputError(problems, subject="the ending")
        ended = Ended("", End(typed["end"]), Removal(typed["removal"]), typed.get("note", ""))
        mounting.end_mount(shop.place, name, ended, by=shop.by)
    except InputError as error:
        return _folder(request, name, typed, error=error, part="end")
    return _to(name)
