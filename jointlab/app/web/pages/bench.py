"""The bench: the next specimen, one number, one tap, stored."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, JSONResponse

from jointlab.app import benching
from jointlab.app.saying import stress_words
from jointlab.app.web.forms import LENGTH_UNITS, cells_from, field_problems, fields_from, load_units
from jointlab.app.web.rendering import is_part, page
from jointlab.app.web.security import posted, token_of
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, JointlabError
from jointlab.record.photo import Photo, cleaned_photo
from jointlab.record.row import words_of

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]

OUTCOMES = (
    ("broke", "Broke", "at this load"),
    ("held", "Held", "up to this load"),
    ("step", "Broke on the way", "between two loads"),
    ("handled", "Broke in the hand", "before any load"),
)
BREAKS = (
    ("wood", "Nearly all wood"),
    ("mixed", "Mixed"),
    ("glue", "Nearly all glue"),
    ("plies", "Plies came apart"),
    ("paper", "Paper"),
)
CLOSED = (
    "glue_family",
    "substrate_kind",
    "interlayer",
    "action",
    "grain_to_load",
    "shape",
    "broke_at",
    "adhesive_side",
)
SHOWN_UNITS = {"n": "N", "kn": "kN", "nm": "N m", "inlbf": "in lbf", "ftlbf": "ft lbf", "mpa": "MPa"}
UNIT_NAMES = {
    title: f"{SHOWN_UNITS.get(unit, unit)}{' shown' if kind == 'reading' else ''}"
    for title in load_units()
    for kind, _, unit in [title.partition("_")]
}
MOST_UPCOMING = 100
"""Specimens an open page knows beyond the next, for when the network is away."""

OUTCOME = "x-jointlab-outcome"


def today() -> str:
    """The date in this shop."""
    return datetime.now().astimezone().date().isoformat()


@router.get("/", response_class=HTMLResponse)
def bench(request: Request) -> HTMLResponse:
    """The next pull."""
    return _bench(request)


def _bench(request: Request, *, receipt: benching.Entry | None = None) -> HTMLResponse:
    now = benching.bench_now(shop_of(request).place)
    fields = {
        "outcome": "broke",
        "action": "pry",
        "shape": "disc",
        "batch": "1",
        "specimen": "1",
        "load_unit": "load_n",
    }
    fields |= {"tested_on": today()} | fields_from(now.cells)
    response = _form(request, now, fields, receipt=receipt)
    if receipt is not None:
        response.headers[OUTCOME] = "stored"
    return response


def _form(
    request: Request,
    now: benching.Bench,
    fields: dict[str, str],
    *,
    status: int = 200,
    receipt: benching.Entry | None = None,
    problems: dict[str, list[str]] | None = None,
    asked: benching.Questioned | None = None,
) -> HTMLResponse:
    upcoming = [
        {"batch": one.batch, "specimen": one.specimen, "words": one.words, "fields": fields_from(dict(one.cells))}
        for one in now.upcoming[:MOST_UPCOMING]
    ]
    return page(
        request,
        "bench_part.html.j2" if is_part(request) else "bench.html.j2",
        status=status,
        now=now,
        names=None if is_part(request) else _names(request),
        fields=defaultdict(str, fields),
        upcoming=upcoming,
        of_plan=_planned(now, fields),
        receipt=receipt,
        said=None if receipt is None else stress_words(receipt.read.stress),
        problems=problems or {},
        asked=asked,
        outcomes=OUTCOMES,
        breaks=BREAKS,
        words={name: words_of(name) for name in CLOSED},
        load_units=load_units(),
        length_units=LENGTH_UNITS,
        unit_names=UNIT_NAMES,
    )


def _names(request: Request) -> benching.KnownNames:
    try:
        return benching.known_names(shop_of(request).place)
    except JointlabError:
        return benching.KnownNames()


def _planned(now: benching.Bench, fields: dict[str, str]) -> benching.Upcoming | None:
    asked = (fields.get("batch"), fields.get("specimen"))
    return next((one for one in now.upcoming if (one.batch, one.specimen) == asked), None)


@router.post("/", response_class=HTMLResponse)
def store(request: Request, form: Form) -> HTMLResponse:
    """Store the pull, once; or ask, or say what is wrong, with everything that was typed."""
    shop = shop_of(request)
    try:
        entry = benching.stored_once(
            shop.place,
            cells_from(form),
            confirmed=frozenset(str(form.get("confirmed", "")).split()),
            photo=photo_in(form),
            by=shop.by,
        )
    except benching.Questioned as asked:
        return _again(request, form, outcome="asks", asked=asked)
    except InputError as error:
        return _again(request, form, outcome="wrong", problems=field_problems(error))
    except JointlabError as error:
        return _again(request, form, outcome="wrong", problems=field_problems(error), status=error.http_status)
    return _bench(request, receipt=entry)


def _again(request: Request, form: dict[str, Any], *, outcome: str, status: int = 422, **told: Any) -> HTMLResponse:
    try:
        now = benching.bench_now(shop_of(request).place)
    except JointlabError:
        now = benching.Bench({}, (), None)
    typed = {name: value for name, value in form.items() if isinstance(value, str)}
    response = _form(request, now, typed, status=status, **told)
    response.headers[OUTCOME] = outcome
    return response


def photo_in(form: dict[str, Any]) -> Photo | None:
    """The photo that came with a form, cleaned; None where none was chosen.

    Raises
    ------
    InputError
        It is no picture, or too large.
    """
    upload = form.get("photo")
    if not isinstance(upload, UploadFile) or not upload.filename:
        return None
    return cleaned_photo(upload.file.read())


@router.post("/bench/stress", response_class=HTMLResponse)
def stress(request: Request, form: Form) -> HTMLResponse:
    """The stress of what is being typed; while it cannot be said, what is missing."""
    try:
        read = benching.looked_at(shop_of(request).place, cells_from(form) | _not_yet(form))
    except JointlabError as error:
        missing = [name for name in field_problems(error) if name]
        return page(request, "stress.html.j2", read=None, said="", missing=missing if form.get("load") else [])
    return page(request, "stress.html.j2", read=read, said=stress_words(read.stress), missing=[])


def _not_yet(form: dict[str, Any]) -> dict[str, str]:
    """Names do not matter to a stress: any stand in for those still empty."""
    return {name: "-" for name in ("batch", "specimen", "glue", "substrate") if not str(form.get(name, "")).strip()}


@router.get("/token")
def token(request: Request) -> JSONResponse:
    """A new token for a page that was open while the server was started anew."""
    return JSONResponse({"token": token_of(request)})
