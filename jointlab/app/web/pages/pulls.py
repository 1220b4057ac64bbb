"""The pulls: find them, see one whole, correct it, leave it out, add a photo, take them away as a file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab.app import benching, workflow
from jointlab.app.saying import stress_words
from jointlab.app.web.forms import NUMBERS, number_text
from jointlab.app.web.images import download
from jointlab.app.web.pages.bench import photo_in
from jointlab.app.web.rendering import page, problems_of
from jointlab.app.web.security import posted
from jointlab.app.web.shop import shop_of
from jointlab.book.stored import PullSelection
from jointlab.errors import InputError, JointlabError, Problem
from jointlab.record.columns import physical_columns
from jointlab.record.row import words_of
from jointlab.record.vocabulary import Action

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]
ON_A_PAGE = 100
CSV = "text/csv; charset=utf-8"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True, slots=True)
class Filter:
    """What the list is narrowed to; empty text asks for any."""

    glue: str = ""
    substrate: str = ""
    preparation: str = ""
    action: str = ""
    batch: str = ""

    @property
    def selection(self) -> PullSelection:
        """As the book is asked."""
        return PullSelection(
            glue=self.glue or None,
            substrate=self.substrate or None,
            preparation=self.preparation or None,
            action=Action(self.action) if self.action in set(Action) else None,
            batch=self.batch or None,
        )

    @property
    def query(self) -> str:
        """As it stands in the address."""
        given = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return urlencode({name: text for name, text in given.items() if text})


def filter_of(glue: str = "", substrate: str = "", preparation: str = "", action: str = "", batch: str = "") -> Filter:
    """The filter in the address."""
    return Filter(glue, substrate, preparation, action, batch)


Filtered = Annotated[Filter, Depends(filter_of)]


@router.get("/pulls", response_class=HTMLResponse)
def pulls(request: Request, chosen: Filtered, start: Annotated[int, Query(ge=0, le=10**9)] = 0) -> HTMLResponse:
    """The newest pulls of a filter first."""
    with workflow.open_book(shop_of(request).place) as book:
        found = book.pulls(chosen.selection)[::-1]
        combinations = book.combinations()
    shown = [workflow.read_pull(stored) for stored in found[start : start + ON_A_PAGE]]
    return page(
        request,
        "pulls.html.j2",
        chosen=chosen,
        actions=tuple(Action),
        combinations=combinations,
        rows=[(read, stress_words(read.stress)) for read in shown],
        count=len(found),
        start=start,
        step=ON_A_PAGE,
    )


@router.get("/pulls/export.csv")
def export(request: Request, chosen: Filtered) -> Response:
    """The pulls of a filter as a file that imports again."""
    text = benching.exported(shop_of(request).place, chosen.selection)
    return download(text, kind=CSV, name="pulls.csv")


@router.get("/pulls/export.xlsx")
def export_workbook(request: Request, chosen: Filtered) -> Response:
    """The pulls of a filter as a workbook that imports again."""
    content = benching.exported_workbook(shop_of(request).place, chosen.selection)
    return download(content, kind=XLSX, name="pulls.xlsx")


@router.get("/pulls/template.csv")
def template() -> Response:
    """A table to start from."""
    return download(benching.template_text(), kind=CSV, name="pulls-to-fill.csv")


@router.get("/pulls/template.xlsx")
def template_workbook() -> Response:
    """A workbook to start from."""
    return download(benching.template_workbook(), kind=XLSX, name="pulls-to-fill.xlsx")


@router.get("/photos/{photo_id}")
def photo(request: Request, photo_id: int) -> Response:
    """A photo as it is kept."""
    content = benching.photo_jpeg(shop_of(request).place, photo_id)
    return Response(content, media_type="image/jpeg", headers={"cache-control": "private, max-age=31536000, immutable"})


@router.get("/pulls/{pull_id}", response_class=HTMLResponse)
def pull(request: Request, pull_id: int) -> HTMLResponse:
    """One pull, whole."""
    return _folder(request, pull_id)


def _folder(
    request: Request,
    pull_id: int,
    *,
    status: int = 200,
    typed: dict[str, str] | None = None,
    problems: dict[str, list[str]] | None = None,
    part: str = "",
) -> HTMLResponse:
    folder = benching.folder_of(shop_of(request).place, pull_id)
    now = folder.read.stored
    cells = benching.cells_to_correct(now.pull)
    columns = [(name, words_of(name), name in physical_columns() or name in NUMBERS) for name in cells]
    return page(
        request,
        "pull.html.j2",
        status=status,
        folder=folder,
        pull=now.pull,
        id=now.id,
        revision=now.revision,
        said=stress_words(folder.read.stress),
        facts=[(name, text) for name, text in cells.items() if text],
        changes=list(_changes(folder)),
        columns=columns,
        fields=cells | {"reason": "", "cause": ""} | (typed or {}),
        problems=problems or {},
        wrong_part=part,
    )


def _changes(folder: benching.PullFolder) -> Any:
    before: dict[str, str] = {}
    for state in folder.history:
        now = benching.cells_to_correct(state.pull) | {"excluded_because": state.pull.excluded_because or ""}
        changed = [(name, before.get(name, ""), text) for name, text in now.items() if before and before[name] != text]
        yield state, changed
        before = now


def _done(pull_id: int) -> Response:
    return RedirectResponse(f"/pulls/{pull_id}", status_code=303)


@router.post("/pulls/{pull_id}/correct", response_class=HTMLResponse)
def correct(request: Request, pull_id: int, form: Form) -> Response:
    """Write a pull's next revision."""
    typed = {name: value for name, value in form.items() if isinstance(value, str)}
    numeric = {*physical_columns(), *NUMBERS}
    cells = {
        name: number_text(text) if name in numeric else text
        for name, text in typed.items()
        if name not in ("token", "reason", "revision")
    }
    seen = typed.get("revision", "")
    shop = shop_of(request)
    try:
        benching.corrected(
            shop.place,
            pull_id,
            cells,
            reason=typed.get("reason", ""),
            seen_revision=int(seen) if seen.isdecimal() and len(seen) < 10 else None,
            by=shop.by,
        )
    except JointlabError as error:
        status, problems = error.http_status, problems_of(error)
        return _folder(request, pull_id, status=status, typed=typed, problems=problems, part="correct")
    return _done(pull_id)


@router.post("/pulls/{pull_id}/exclude", response_class=HTMLResponse)
def exclude(request: Request, pull_id: int, form: Form) -> Response:
    """Use a pull no more, for a stated cause."""
    cause = str(form.get("cause", ""))
    shop = shop_of(request)
    try:
        workflow.exclude_pull(shop.place, pull_id, cause=cause, by=shop.by)
    except JointlabError as error:
        status, typed, problems = error.http_status, {"cause": cause}, problems_of(error)
        return _folder(request, pull_id, status=status, typed=typed, problems=problems, part="exclude")
    return _done(pull_id)


@router.post("/pulls/{pull_id}/photo", response_class=HTMLResponse)
def add_photo(request: Request, pull_id: int, form: Form) -> Response:
    """Keep a photo of a pull."""
    shop = shop_of(request)
    try:
        brought = photo_in(form)
        if brought is None:
            raise InputError(Problem("choose a picture first", column="photo"), subject="the photo")
        benching.photo_added(shop.place, pull_id, brought, by=shop.by)
    except InputError as error:
        return _folder(request, pull_id, status=422, problems=problems_of(error), part="photo")
    return _done(pull_id)
