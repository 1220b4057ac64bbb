"""What became of each mount: taken up with its verdict, followed, ended; never entered as a strength."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab.app import benching, mount_folder, mounting
from jointlab.app.saying import stress_words
from jointlab.app.web.forms import number_text
from jointlab.app.web.images import svg
from jointlab.app.web.mount_state import state_of, state_of_document, toml_of
from jointlab.app.web.pages.bench import BREAKS, photo_in
from jointlab.app.web.rendering import page, problems_of
from jointlab.app.web.security import posted
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, JointlabError, Problem
from jointlab.mount.setup import CatchClass
from jointlab.record.columns import accepted_columns
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.field_record import End, Ended, Event, Inspection, Phase, Removal

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]
FORCE_UNITS = ("load_kgf", "load_n", "load_lbf")
"""Units a scale may show, as columns of a pull name them."""


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
    request: Request,
    name: str,
    typed: dict[str, str],
    *,
    error: JointlabError | None = None,
    part: str = "",
    asked: benching.Questioned | None = None,
) -> HTMLResponse:
    place = shop_of(request).place
    record, photos = mounting.field_record(place, name)
    words = {"phases": tuple(Phase), "inspections": tuple(Inspection), "ends": tuple(End), "removals": tuple(Removal)}
    offered = record.ended is not None and mounting.offers_pull(record.ended)
    return page(
        request,
        "mounts_one.html.j2",
        status=422 if asked else 200 if error is None else error.http_status,
        record=record,
        photos=photos,
        state=state_of_document(mount_folder.described(place, name), name=record.name),
        offered=offered,
        pried=mount_folder.pull_pried_off(place, name) if offered else None,
        breaks=BREAKS,
        asked=asked,
        typed=typed,
        problems={} if error is None else _in_part(_named(error), part),
        part_wrong=part,
        catches=tuple(CatchClass),
        stress_words=stress_words,
        **words,
    )


def _named(error: JointlabError) -> dict[str, list[str]]:
    """Problems by field: the command line's flags are the fields here."""
    return {key.lstrip("-"): said for key, said in problems_of(error).items()}


def _in_part(problems: dict[str, list[str]], part: str) -> dict[str, list[str]]:
    """Several forms of the page take a photo: each has a field of its own."""
    own = f"{part}-photo"
    return {own if name == "photo" and part in ("event", "end") else name: said for name, said in problems.items()}


def _keep_photo(request: Request, name: str, form: dict[str, Any], *, caption: str = "") -> None:
    """Keep the photo that came with a form, if one did; looked at before anything else is kept."""
    brought = photo_in(form)
    if brought is not None:
        shop = shop_of(request)
        mount_folder.keep_mount_photo(shop.place, name, brought, caption=caption, by=shop.by)


@router.post("/mounts/photo", response_class=HTMLResponse)
def photo(request: Request, form: Form) -> Response:
    """Keep a photo of a mount."""
    typed = _typed(form)
    name = typed.get("mount", "")
    try:
        if photo_in(form) is None:
            raise InputError(Problem("choose a picture first", column="photo"), subject="the photo")
        form["photo"].file.seek(0)
        _keep_photo(request, name, form, caption=typed.get("caption", ""))
    except InputError as error:
        return _folder(request, name, typed, error=error, part="photo")
    return _to(name)


@router.get("/mounts/proof", response_class=HTMLResponse)
def proof(request: Request, name: str, factor: str = "") -> HTMLResponse:
    """How to proof a mount, and the form that takes the proof down."""
    return _proof(request, name, {"factor": factor[:20]} if factor else {})


def _proof(request: Request, name: str, typed: dict[str, str], *, error: InputError | None = None) -> HTMLResponse:
    place = shop_of(request).place
    problems = {} if error is None else _named(error)
    made = None
    try:
        numbers, wrong = numbers_of(typed, ("factor",))
        if wrong:
            raise InputError(wrong, subject="the proof")
        made = mounting.proof_for(place, name, factor=numbers.get("factor"))
    except InputError as failure:
        problems = _named(failure) | problems
    return page(
        request,
        "mounts_proof.html.j2",
        status=422 if problems else 200,
        record=mounting.field_record(place, name)[0],
        made=made,
        gravity=STANDARD_GRAVITY_M_S2,
        typed=typed,
        problems=problems,
    )


@router.post("/mounts/proof", response_class=HTMLResponse)
def keep_proof(request: Request, form: Form) -> Response:
    """Take a proof down and decide the mount anew."""
    typed, shop = _typed(form), shop_of(request)
    name = typed.get("mount", "")
    try:
        pulled = proof_of(typed)
        _keep_photo(request, name, form, caption="proof")
        mounting.keep_proof(shop.place, name, pulled, by=shop.by)
    except InputError as error:
        return _proof(request, name, typed, error=error)
    return _to(name)


def proof_of(typed: dict[str, str]) -> mounting.ProofPulled:
    """A proof as it was typed.

    Raises
    ------
    InputError
        With a problem for each field that is needed and missing, or is no number.
    """
    needed = ("force", "height_mm", "arm_mm", "held")
    problems = [Problem("is needed", column=each) for each in needed if each not in typed]
    problems += _wrong_words(typed, {"held": ("held", "failed"), "force_unit": FORCE_UNITS})
    numbers, wrong = numbers_of(typed, ("force", "height_mm", "arm_mm", "directions"))
    problems += wrong
    directions = numbers.get("directions", 4.0)
    if not directions.is_integer() or not 1 <= directions <= 100:
        problems.append(Problem("must be a whole number from 1", column="directions", value=typed["directions"]))
    if problems:
        raise InputError(problems, subject="the proof")
    column = accepted_columns()[typed.get("force_unit", "load_kgf")]
    return mounting.ProofPulled(
        float(column.to_stored(number_text(typed["force"]))),
        numbers["height_mm"],
        numbers["arm_mm"],
        int(directions),
        held=typed["held"] == "held",
    )


def numbers_of(typed: dict[str, str], names: Iterable[str]) -> tuple[dict[str, float], list[Problem]]:
    """The numbers among the fields, and a problem for each that is none; what is left empty is left out."""
    numbers: dict[str, float] = {}
    problems = []
    for name in (each for each in names if each in typed):
        try:
            number = float(number_text(typed[name]))
        except ValueError:
            number = math.nan
        if math.isfinite(number):
            numbers[name] = number
        else:
            problems.append(Problem("must be a number", column=name, value=typed[name]))
    return numbers, problems


@router.post("/mounts/pried", response_class=HTMLResponse)
def pried(request: Request, form: Form) -> Response:
    """Store the free full-size pull: what the scale showed, how far from the glue line, how the break looks."""
    typed, shop = _typed(form), shop_of(request)
    name = typed.get("mount", "")
    try:
        missing = [Problem("is needed", column=each) for each in ("scale", "arm_mm") if each not in typed]
        missing += _wrong_words(typed, {"scale_unit": FORCE_UNITS})
        if missing:
            raise InputError(missing, subject="the pull")
        reading = mounting.PriedOff(
            typed.get("scale_unit", "load_kgf"), number_text(typed["scale"]), number_text(typed["arm_mm"])
        )
        confirmed = frozenset(typed.get("confirmed", "").split())
        mount_folder.record_pried_off(
            shop.place, name, reading, looks=typed.get("break", ""), confirmed=confirmed, by=shop.by
        )
    except benching.Questioned as asked:
        return _folder(request, name, typed, asked=asked, part="pried")
    except InputError as error:
        return _folder(request, name, typed, error=_of_the_scale(error), part="pried")
    return _to(name)


def _of_the_scale(error: InputError) -> InputError:
    """Problems with the load belong to the field of the scale."""
    renamed = [
        replace(problem, column="scale" if (problem.column or "").startswith("load_") else problem.column)
        for problem in error.problems
    ]
    return InputError(renamed, subject="the pull")


@router.post("/mounts/event", response_class=HTMLResponse)
def event(request: Request, form: Form) -> Response:
    """Take down what happened to a mount."""
    typed, shop = _typed(form), shop_of(request)
    name = typed.get("mount", "")
    try:
        happened = event_of(typed)
        _keep_photo(request, name, form, caption=typed.get("note", ""))
        mounting.keep_event(shop.place, name, happened, by=shop.by)
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
    told, problems = numbers_of(typed, ("hours", "top_rpm", *CatchClass))
    numbers = dict.fromkeys(("hours", *CatchClass), 0.0) | told
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
        top_rpm=numbers.get("top_rpm"),
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
        _keep_photo(request, name, form, caption=str(ended.end))
        mounting.end_mount(shop.place, name, ended, by=shop.by)
    except InputError as error:
        return _folder(request, name, typed, error=error, part="end")
    return _to(name)
