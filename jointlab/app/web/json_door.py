"""The same answers as the command line's ``--json``, under ``/api/``, described at ``/api/openapi.json``.

What writes needs the token of the visit in the header ``x-jointlab-token``: ``GET /api/token`` gives it, with a cookie.
"""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool

from jointlab.app import answers, benching, workflow
from jointlab.app.documents import (
    DecideDocument,
    Document,
    ErrorDocument,
    ImportDocument,
    MountDocument,
    PullsDocument,
    StrengthDocument,
)
from jointlab.app.saying import LEAST_SHARE, MOST_SHARE
from jointlab.app.web.security import token_of
from jointlab.app.web.shop import shop_of
from jointlab.book.stored import PullSelection
from jointlab.errors import InputError, Problem
from jointlab.record.names import tidied
from jointlab.record.vocabulary import Action

MOST_IMPORTED_BYTES = 10_000_000

Text = Annotated[str, Field(max_length=4000)]
Cells = Annotated[dict[str, str], Field(description="Columns of a pull and what stands in them, as in a file.")]
OtherShop = Annotated[str, Query(max_length=200, description="Name of another shop that made the pulls.")]
Number = Annotated[int, Path(ge=1, le=2**62, description="Number of the pull.")]
Share = Annotated[float, Query(ge=LEAST_SHARE, le=MOST_SHARE)]


def _brought(x_jointlab_token: Annotated[str, Header(description="Token of the visit.")] = "") -> str:
    """Named so that the description of each writing path says what it needs; the guard compares it."""
    return x_jointlab_token


WRITES: dict[str, Any] = {"dependencies": [Depends(_brought)]}
TOLD: dict[int | str, dict[str, Any]] = {
    status: {"model": ErrorDocument, "description": words}
    for status, words in {
        400: "The request cannot be read",
        401: "This device is not paired",
        403: "The token is missing or old",
        404: "No such entry",
        409: "The book says no",
        413: "Too large",
        421: "Not a name of this server",
        422: "The input can be corrected, or no honest number exists",
    }.items()
}
router = APIRouter(prefix="/api", responses=TOLD)


class Asked(BaseModel):
    """What a request brings: closed, and free of NaN and infinity."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class NewPull(Asked):
    """A pull to be stored."""

    cells: Cells


class Correction(Asked):
    """Columns of a pull written anew; an empty text clears one."""

    cells: Cells
    reason: Text


class Exclusion(Asked):
    """Why a pull is used no more."""

    cause: Text


class MountAsked(Asked):
    """A mount, in the sections and keys of its TOML file."""

    mount: dict[str, Any]
    name: Annotated[str, Field(max_length=200)] = "mount"


class TokenDocument(Document):
    """What a writing request must carry."""

    token: str


def selection_of(
    glue: str | None = None, substrate: str | None = None, preparation: str | None = None, action: Action | None = None
) -> PullSelection:
    """The filter in the address."""
    return PullSelection(glue=glue, substrate=substrate, preparation=preparation, action=action)


Selected = Annotated[PullSelection, Depends(selection_of)]


@router.get("/token")
def token(request: Request) -> TokenDocument:
    """The token of this visit, for the header of requests that write."""
    return TokenDocument(token=token_of(request))


@router.get("/pulls")
def pulls(request: Request, selection: Selected) -> PullsDocument:
    """The pulls of a filter, as ``jointlab pulls --json`` prints them."""
    return answers.pulls_document(workflow.list_pulls(shop_of(request).place, selection))


@router.post("/pulls", **WRITES)
def record(request: Request, asked: NewPull) -> PullsDocument:
    """Store one pull; the same pull sent again is answered with what was stored. Questions are findings."""
    shop = shop_of(request)
    entry = benching.stored_once(shop.place, asked.cells, confirmed=benching.ANY_QUESTION, by=shop.by)
    return answers.pulls_document([entry.read])


@router.post("/pulls/{pull_id}/correct", **WRITES)
def correct(request: Request, pull_id: Number, asked: Correction) -> PullsDocument:
    """Write columns of a pull anew as its next revision."""
    shop = shop_of(request)
    return answers.pulls_document(
        [workflow.correct_pull(shop.place, pull_id, asked.cells, reason=asked.reason, by=shop.by)]
    )


@router.post("/pulls/{pull_id}/exclude", **WRITES)
def exclude(request: Request, pull_id: Number, asked: Exclusion) -> PullsDocument:
    """Keep and show a pull, but use it no more."""
    shop = shop_of(request)
    return answers.pulls_document([workflow.exclude_pull(shop.place, pull_id, cause=asked.cause, by=shop.by)])


@router.post(
    "/import",
    **WRITES,
    openapi_extra={"requestBody": {"required": True, "content": {"text/csv": {"schema": {"type": "string"}}}}},
)
async def import_(request: Request, shop: OtherShop = "") -> ImportDocument:
    """Store all pulls of a CSV file, or none; as another shop's where one is named."""
    content = await request.body()
    if len(content) > MOST_IMPORTED_BYTES:
        told = f"is larger than {MOST_IMPORTED_BYTES // 1_000_000} MB: import it with jointlab import"
        raise InputError(Problem(told), subject="the file")
    own, made_by = shop_of(request), tidied(shop)
    receipt = await run_in_threadpool(benching.imported, own.place, content, name="the file", shop=made_by, by=own.by)
    return ImportDocument(stored=receipt.stored, skipped=receipt.skipped)


@router.get("/strength")
def strength(
    request: Request, selection: Selected, coverage: Share = 0.95, confidence: Share = 0.95
) -> StrengthDocument:
    """What strength the joints of a filter can be relied on for."""
    found = workflow.strengths_in(shop_of(request).place, selection, coverage=coverage, confidence=confidence)
    return answers.strength_document(found)


@router.post("/mount", **WRITES)
def mount(asked: MountAsked) -> MountDocument:
    """What the lathe asks of every link of a mount."""
    from jointlab.mount.mount_demand import mount_demand
    from jointlab.mount.setup_of import setup_of

    return answers.mount_document(mount_demand(setup_of(asked.mount)))


@router.post("/decide", **WRITES)
def decide(request: Request, asked: MountAsked) -> DecideDocument:
    """The verdict on a mount; a look at new evidence is taken down."""
    from jointlab.mount.setup_of import setup_of

    shop = shop_of(request)
    decision = workflow.decide_setup(shop.place, setup_of(asked.mount), name=asked.name, by=shop.by)
    return answers.decide_document(decision.verdict)
