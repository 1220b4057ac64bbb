"""What is answered when something is wrong: a page or a JSON object that says what, never a trace."""

from __future__ import annotations

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from jointlab.app.answers import error_document
from jointlab.app.documents import ErrorDocument, ErrorPart, ProblemPart
from jointlab.app.web.rendering import page
from jointlab.app.web.security import WriteRefused
from jointlab.errors import JointlabError

REFUSED = (
    "This page was opened before jointlab was last started, or was not opened here at all. Nothing was written. Open "
    "the page anew and send it once more."
)
BUG = "jointlab met something it did not expect: this is a fault of the program. Nothing half-done was kept."
HEADINGS = {404: "There is no such page", 405: "That cannot be done here", 403: "Not written", 500: "A fault"}


def _answer(request: Request, status: int, kind: str, message: str, problems: tuple[ProblemPart, ...] = ()) -> Response:
    if request.url.path.startswith("/api/"):
        document = ErrorDocument(error=ErrorPart(kind=kind, message=message, problems=problems))
        return JSONResponse(document.model_dump(mode="json", by_alias=True), status_code=status)
    heading = HEADINGS.get(status, "That did not work")
    return page(request, "failure.html.j2", status=status, heading=heading, message=message)


def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, JointlabError)
    document = error_document(error)
    return _answer(request, error.http_status, document.error.kind, str(error), document.error.problems)


def _refused(request: Request, _: Exception) -> Response:
    return _answer(request, 403, "refused", REFUSED)


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return _answer(request, error.status_code, "request", str(error.detail))


def _unreadable(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    problems = tuple(
        ProblemPart(
            row=None,
            column=".".join(str(part) for part in found["loc"][1:]) or None,
            value=None,
            allowed=None,
            message=found["msg"],
        )
        for found in error.errors()
    )
    message = "; ".join(f"{each.column or 'the request'}: {each.message}" for each in problems)
    return _answer(request, 422, "input", message, problems)


def _bug(request: Request, _: Exception) -> Response:
    return _answer(request, 500, "bug", BUG)


def tell_failures(app: FastAPI) -> None:
    """Answer every failure in the words above."""
    app.add_exception_handler(JointlabError, _told)
    app.add_exception_handler(WriteRefused, _refused)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(Exception, _bug)
