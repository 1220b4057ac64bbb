"""Import: first everything that is wrong and everything that would be stored, then the storing."""

from __future__ import annotations

import base64
import binascii
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, Response

from jointlab.app import benching
from jointlab.app.saying import stress_words
from jointlab.app.web.rendering import page
from jointlab.app.web.security import posted
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, JointlabError, Problem
from jointlab.record.names import tidied

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]

MOST_BYTES = 140_000
"""Largest file taken through the page: some thousand pulls. It travels once more inside the form that confirms it."""

SHOWN_ROWS = 50


@router.get("/import", response_class=HTMLResponse)
def choose(request: Request) -> HTMLResponse:
    """Choose a file."""
    return _shown(request)


def _shown(request: Request, *, status: int = 200, **told: Any) -> HTMLResponse:
    usual: dict[str, Any] = {"preview": None, "receipt": None, "error": None, "rows": []}
    usual |= {"name": "", "shop": "", "content": ""}
    return page(request, "import.html.j2", status=status, shown_rows=SHOWN_ROWS, **(usual | told))


@router.post("/import", response_class=HTMLResponse)
def preview(request: Request, form: Form) -> HTMLResponse:
    """Show what a file would bring, or all its problems; nothing is stored yet."""
    name, shop = "", _shop_in(form)
    try:
        name, content = _file_in(form)
        read = benching.previewed(shop_of(request).place, content, name=name, shop=shop)
    except InputError as error:
        return _shown(request, status=422, error=error, name=name, shop=shop)
    rows = [(row, stress_words(row.stress)) for row in read.rows[:SHOWN_ROWS]]
    return _shown(request, preview=read, name=name, shop=shop, content=base64.b64encode(content).decode(), rows=rows)


def _shop_in(form: dict[str, Any]) -> str:
    """Another shop's name; "" when the pulls are the book's own."""
    return tidied(str(form.get("shop", ""))[:200])


def _file_in(form: dict[str, Any]) -> tuple[str, bytes]:
    upload = form.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        raise InputError(Problem("choose a file first", column="file"), subject="the import")
    content = upload.file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        told = f"is larger than {MOST_BYTES // 1000} kB: import it with jointlab import"
        raise InputError(Problem(told, column="file"), subject=upload.filename)
    return upload.filename, content


@router.post("/import/store", response_class=HTMLResponse)
def store(request: Request, form: Form) -> Response:
    """Store all pulls of the file that was shown, or none."""
    name, made_by = str(form.get("name", ""))[:200], _shop_in(form)
    shop = shop_of(request)
    try:
        content = base64.b64decode(str(form.get("content", "")), validate=True)
        receipt = benching.imported(shop.place, content, name=name, shop=made_by, by=shop.by)
    except binascii.Error:
        error = InputError(Problem("did not arrive whole: choose it again", column="file"), subject="the import")
        return _shown(request, status=422, error=error, name=name, shop=made_by)
    except JointlabError as error:
        return _shown(request, status=error.http_status, error=error, name=name, shop=made_by)
    return _shown(request, receipt=receipt, name=name, shop=made_by)
