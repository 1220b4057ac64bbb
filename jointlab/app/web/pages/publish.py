"""Publish: choose what is shown, and take the whole package away as one file."""

from __future__ import annotations

import io
import secrets
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Request
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab.app import mounting, publishing, workflow
from jointlab.app.known_proofs import setup_of_paper
from jointlab.app.mount_documents import MountPaper
from jointlab.app.web.desk import DRAWING, SOON_S, Job, desk_of
from jointlab.app.web.images import download
from jointlab.app.web.pages.mount import mount_file_in
from jointlab.app.web.pages.pulls import Filter
from jointlab.app.web.rendering import is_part, page, problems_of
from jointlab.app.web.security import files_posted, posted
from jointlab.app.web.shop import shop_of
from jointlab.book.stored import PaperKind
from jointlab.errors import InputError, JointlabError, Problem
from jointlab.mount.document import document_of, toml_text, with_settings
from jointlab.mount.setup import MountSetup
from jointlab.mount.setup_of import setup_of
from jointlab.publish.licences import LICENCES
from jointlab.publish.typesetting import Paper

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]

PACKAGE = "publish"
"""What the desk knows packages by, with a key each."""

MOUNT = "mount:"
"""Before the name of a mount's field in the form."""

STAMP = (1980, 1, 1, 0, 0, 0)
"""Time of every file of the package: the same files give the same package."""


@router.get("/publish", response_class=HTMLResponse)
def choose(request: Request) -> HTMLResponse:
    """What can be published, and how."""
    return _shown(request, {})


def _shown(request: Request, typed: Mapping[str, str], *, error: JointlabError | None = None) -> HTMLResponse:
    place = shop_of(request).place
    with workflow.open_book(place) as book:
        combinations = book.combinations()
    return page(
        request,
        "publish.html.j2",
        status=200 if error is None else error.http_status,
        typed={"title": "", "question": "", "shop": "", "glue": "", "substrate": "", "licence": "", "paper": ""}
        | dict(typed),
        problems={} if error is None else problems_of(error),
        combinations=combinations,
        mounts=[record.name for record in mounting.field_records(place)],
        licences={name: title for name, (title, _) in LICENCES.items()},
        papers=tuple(Paper),
        mount_field=MOUNT,
        begun=[(key[1], job) for key, job in desk_of(request).titled() if isinstance(key, tuple) and key[0] == PACKAGE],
    )


async def uploaded(request: Request) -> list[UploadFile]:
    """Mount files that came with the form."""
    return await files_posted(request, "file")


@router.post("/publish", response_class=HTMLResponse)
def begin(request: Request, form: Form, files: Annotated[list[UploadFile], Depends(uploaded)]) -> Response:
    """Begin to put the package together; it goes on when the page is left."""
    typed = {name: text.strip()[:2000] for name, text in form.items() if isinstance(text, str) and name != "token"}
    try:
        wish, names = wish_of(typed), _mounts_in(typed)
        chosen = Filter(glue=typed.get("glue", ""), substrate=typed.get("substrate", ""))
        place, by = shop_of(request).place, shop_of(request).by
        with workflow.open_book(place) as book:
            papers = [book.paper(PaperKind.MOUNT, name) for name in names]
            described = [described_paper(MountPaper.model_validate(paper.document), paper.key) for paper in papers]
            described += [described_file(upload) for upload in files]
            if not book.pulls(chosen.selection):
                raise InputError(
                    Problem("there are no pulls of that kind: record or import some first"), subject="publish"
                )
    except JointlabError as error:
        return _shown(request, typed, error=error)

    def work(job: Job) -> bytes:
        asked = [
            publishing.Asked(workflow.decide_setup(place, each.setup, name=each.name, by=by), each.text)
            for each in job.progress(described, "mounts", more=1)
        ]
        with DRAWING:
            return zipped(publishing.results_files(place, wish, asked, selection=chosen.selection))

    key = secrets.token_urlsafe(12)
    desk_of(request).job((PACKAGE, key), work, title=wish.title)
    return RedirectResponse(f"/publish/made?key={key}", status_code=303)


@dataclass(frozen=True, slots=True)
class Described:
    """A mount to be decided on the page, and the file it can be decided from again."""

    name: str
    setup: MountSetup
    text: bytes


def plain_name(name: str) -> str:
    """A mount's name as a file of the package can be called: no part of it leads elsewhere."""
    bare = "".join(letter if letter.isalnum() or letter in " -_." else "_" for letter in name).strip(" .")
    return bare[:100] or "mount"


def described_paper(paper: MountPaper, name: str) -> Described:
    """A mount of the book: as it was written, or with its settings written in."""
    text = paper.description
    if paper.settings:
        text = toml_text(with_settings(document_of(paper.description, name=paper.file), paper.settings))
    return Described(plain_name(name), setup_of_paper(paper), text.encode())


def described_file(upload: UploadFile) -> Described:
    """A mount of a file that was handed in.

    Raises
    ------
    InputError
        It is no mount.
    """
    name, text = mount_file_in(upload)
    try:
        return Described(plain_name(name), setup_of(document_of(text, name=f"{name}.toml")), text.encode())
    except InputError as error:
        problems = [replace(each, column="file", message=f"{upload.filename}: {each}") for each in error.problems]
        raise InputError(problems, subject="publish") from None


def wish_of(typed: Mapping[str, str]) -> publishing.Wish:
    """How the publication is headed, and what the shop lets others see.

    Raises
    ------
    InputError
        It has no title, or the sheet is none that is known.
    """
    if not typed.get("title"):
        raise InputError(Problem("is needed", column="title"), subject="publish")
    paper = typed.get("paper") or Paper.A4
    if paper not in set(Paper):
        raise InputError(Problem(f"must be one of: {', '.join(Paper)}", column="paper", value=paper), subject="publish")
    return publishing.Wish(
        title=typed["title"],
        question=typed.get("question") or None,
        shop=typed.get("shop") or None,
        disclosing=publishing.disclosing(
            shop=bool(typed.get("shop")), notes="notes" in typed, photos="photos" in typed
        ),
        envelopes="envelopes" in typed,
        licence=typed.get("licence") or "CC-BY-4.0",
        paper=Paper(paper),
    )


def _mounts_in(typed: Mapping[str, str]) -> list[str]:
    return [name.removeprefix(MOUNT) for name in typed if name.startswith(MOUNT)]


def zipped(files: Mapping[str, bytes]) -> bytes:
    """The files as one package."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in files.items():
            package.writestr(zipfile.ZipInfo(name, STAMP), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


@router.get("/publish/made", response_class=HTMLResponse)
def made(request: Request, key: str) -> HTMLResponse:
    """How far the package is, or the package."""
    job = _job(request, key)
    done, problems, kilobytes = job.is_done(within_s=SOON_S), {}, 0
    if done:
        try:
            kilobytes = round(len(job.answer()) / 1000)
        except JointlabError as error:
            problems = problems_of(error)
    template = "publish_answer.html.j2" if is_part(request) else "publish_made.html.j2"
    return page(
        request, template, key=key, job=None if done else job, problems=problems, kilobytes=kilobytes,
        status=422 if problems else 200,
    )  # fmt: skip


@router.get("/publish/package.zip")
def package(request: Request, key: str) -> Response:
    """The package as one file."""
    return download(_job(request, key).answer(), kind="application/zip", name="results.zip")


def _job(request: Request, key: str) -> Job:
    job = desk_of(request).known((PACKAGE, key))
    if job is None:
        raise HTTPException(404, "That package is not kept any more: publish it once more.")
    return job
