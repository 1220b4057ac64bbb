"""A mount: described in the address, answered while it changes, its look taken down when that is asked for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab.app import enveloping, previewing, workflow
from jointlab.app.at_hand import combinations_at_hand
from jointlab.app.publishing import today
from jointlab.app.web.desk import DRAWING, desk_of
from jointlab.app.web.images import download, svg
from jointlab.app.web.mount_state import (
    TITLES,
    USUAL_NAME,
    Entry,
    MountState,
    entries_of,
    state_of,
    state_of_document,
    toml_of,
)
from jointlab.app.web.rendering import is_part, page, problems_of
from jointlab.app.web.security import posted
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, JointlabError, Problem
from jointlab.mount.document import LISTED_SECTION, document_of
from jointlab.mount.form import NEEDED_SECTIONS
from jointlab.mount.setup_of import setup_of

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]

MOST_BYTES = 100_000
"""Largest mount file that is read."""


def stated(request: Request) -> MountState:
    """What the address says of a mount."""
    return state_of(dict(request.query_params))


Stated = Annotated[MountState, Depends(stated)]


@router.get("/mount", response_class=HTMLResponse)
def mount(request: Request, state: Stated) -> Response:
    """The answer on the mount in the address, and the form that describes it; nothing is taken down."""
    part = is_part(request)
    if not part and "" in request.query_params.values():
        return RedirectResponse(_address(state), status_code=303)
    response = _shown(request, state, part=part)
    if part:
        response.headers["hx-replace-url"] = _address(state)
    return response


def _address(state: MountState) -> str:
    return f"/mount?{state.query}" if state.query else "/mount"


def _shown(
    request: Request, state: MountState, *, part: bool = False, error: JointlabError | None = None, status: int = 200
) -> HTMLResponse:
    told = _told(request, state, error)
    return page(
        request,
        "mount_answer.html.j2" if part else "mount.html.j2",
        status=status,
        state=state,
        sections=_sections(state),
        listed=_listed(request),
        usual_name=USUAL_NAME,
        **told,
    )


def _told(request: Request, state: MountState, error: JointlabError | None) -> dict[str, Any]:
    """The answer, or what keeps it away."""
    problems: dict[str, list[str]] = {} if error is None else problems_of(error)
    answer = None
    if state.texts:
        try:
            answer = answer_on(request, state)
        except JointlabError as failure:
            problems = problems_of(failure) | problems
    missing = [name for name, said in problems.items() if name not in state.texts and said[0].startswith("is needed")]
    sections = [name for name in problems if name in NEEDED_SECTIONS]
    return {
        "answer": answer,
        "problems": problems,
        "still": sum(name in problems for name in (*missing, *sections)),
        "to_right": {name: said for name, said in problems.items() if name not in (*missing, *sections)},
    }


def answer_on(request: Request, state: MountState) -> dict[str, Any]:
    """Everything the page says of a mount, from the use case that takes nothing down.

    Raises
    ------
    InputError
        With every problem of what is described.
    """
    from jointlab.app.answers import decide_document, mount_document
    from jointlab.mount.assumptions import ASSUMPTIONS
    from jointlab.publish import sentences, wording
    from jointlab.publish.grab_figure import grab_alt
    from jointlab.sources import SOURCES
    from jointlab.verdict.interference import break_chance
    from jointlab.verdict.sentence import margin_told, sentence_of

    preview = previewing.preview_setup(shop_of(request).place, setup_of(state.document), name=state.name)
    decision = preview.decision
    published = published_mount(decision)
    chance = None if decision.evidence is None else break_chance(decision.setup, decision.evidence)
    return {
        "taken_down": preview.taken_down,
        "sentence": sentence_of(decision.verdict),
        "verdict": decision.verdict,
        "document": decide_document(decision.verdict),
        "demand": mount_document(decision.demand),
        "headline": sentences.mount_headline(published),
        "margin": sentences.margin_sentence(published),
        "catches": sentences.catch_sentence(published),
        "shape": sentences.ANSWER_SHAPES[decision.verdict.verdict],
        "grab_alt": grab_alt(published),
        "section_alt": sentences.section_alt(published),
        "chance": chance,
        "margin_told": margin_told,
        "words": wording,
        "ways": [(way.text, _way_address(state, way.setting)) for way in decision.verdict.would_settle],
        "assumed": [
            (each, float(each.value(decision.setup)), SOURCES[each.source], f"factors.{each.key}" if each.key else "")
            for each in ASSUMPTIONS
        ],
    }


def published_mount(decision: workflow.Decision, envelope: Sequence[Any] = ()) -> Any:
    """A decided mount as the publish room takes it."""
    from jointlab.publish.publication import PublishedMount

    return PublishedMount(decision.name, decision.setup, decision.demand, decision.verdict, tuple(envelope))


def _way_address(state: MountState, setting: Sequence[tuple[str, Any]]) -> str | None:
    return _address(state.changed(setting)) if setting else None


def _sections(state: MountState) -> list[tuple[str, str, tuple[Entry, ...], bool]]:
    """Key, title, fields, and whether the section stands open."""
    shown = [
        (
            name,
            title,
            entries_of(name),
            name in NEEDED_SECTIONS or any(key.startswith(f"{name}.") for key in state.texts),
        )
        for name, title in TITLES.items()
    ]
    inside = [
        (f"{LISTED_SECTION}.{number}", f"Joint {number} inside the blank",
         entries_of(LISTED_SECTION, f"{LISTED_SECTION}.{number}"), True)
        for number in range(1, state.joints + 1)
    ]  # fmt: skip
    return [*shown[:1], *inside, *shown[1:]]


def _listed(request: Request) -> dict[str, list[str]]:
    """Names the shop has used, and woods that are known, to choose from."""
    from jointlab.record.woods import WOODS

    with workflow.open_book(shop_of(request).place) as book:
        known = [stored.combination for stored in combinations_at_hand(book)]
    names = {
        "glues": [each.glue for each in known],
        "substrates": [each.substrate for each in known],
        "preparations": [each.preparation for each in known if each.preparation],
        "woods": [wood.name for wood in WOODS],
    }
    return {name: list(dict.fromkeys(each)) for name, each in names.items()}


@router.get("/mount/grab.svg")
def grab(request: Request, state: Stated) -> Response:
    """The grab it stands, beside what light, firm and severe catches are taken to be."""
    from jointlab.publish.grab_figure import grab_figure

    published = published_mount(_decision(request, state))
    return svg(lambda: grab_figure(published))


@router.get("/mount/section.svg")
def section(request: Request, state: Stated) -> Response:
    """The section through the mount, the governing link marked."""
    from jointlab.publish.mount_figure import mount_figure

    decision = _decision(request, state)
    return svg(lambda: mount_figure(decision.setup, governing_link=decision.verdict.governing_link))


@router.get("/mount/demand.svg")
def demand(request: Request, state: Stated) -> Response:
    """What each case asks of each link, beside what is relied on."""
    from jointlab.publish.demand_figure import demand_figure

    published = published_mount(_decision(request, state))
    return svg(lambda: demand_figure(published))


@router.get("/mount/envelope", response_class=HTMLResponse)
def envelope(request: Request, state: Stated) -> HTMLResponse:
    """What other sizes would stand: figure and tables."""
    from jointlab.publish.envelope_table import envelope_tables
    from jointlab.publish.sentences import envelope_alt

    decision, lines = _enveloped(request, state)
    template = "mount_envelope.html.j2" if is_part(request) else "mount_envelope_page.html.j2"
    alt = envelope_alt(published_mount(decision, lines))
    return page(request, template, state=state, tables=envelope_tables(lines), alt=alt)


@router.get("/mount/envelope.svg")
def envelope_drawn(request: Request, state: Stated) -> Response:
    """The operating envelope, drawn."""
    from jointlab.publish.envelope_figure import envelope_figure

    decision, lines = _enveloped(request, state)
    return svg(lambda: envelope_figure(decision.setup, lines))


def _enveloped(request: Request, state: MountState) -> Any:
    """The answer with its envelope, worked out once for figure and tables."""
    decision = _decision(request, state)
    with workflow.open_book(shop_of(request).place) as book:
        key = ("envelope", book.head(), state.query, decision.look)
    return decision, desk_of(request).job(key, lambda _: enveloping.envelope_around(decision)).answer()


@router.get("/mount/card.pdf")
def card(request: Request, state: Stated) -> Response:
    """The printable card, with the answer as it stands."""
    from jointlab import __version__
    from jointlab.publish.card import CardNote, mount_card

    shop = shop_of(request)
    note = CardNote(dated_on=today(), program_version=__version__, decided_by=shop.by)
    with DRAWING:
        content = mount_card(published_mount(_decision(request, state)), note)
    return download(content, kind="application/pdf", name=f"{state.name}-card.pdf")


@router.get("/mount/mount.toml")
def as_file(state: Stated) -> Response:
    """The mount as the file the command line reads."""
    return download(toml_of(state), kind="application/toml; charset=utf-8", name=f"{state.name}.toml")


def _decision(request: Request, state: MountState) -> workflow.Decision:
    setup = setup_of(state.document)
    return previewing.preview_setup(shop_of(request).place, setup, name=state.name).decision


@router.post("/mount/decide", response_class=HTMLResponse)
def decide(request: Request, form: Form) -> Response:
    """Take this look at the tests down and decide."""
    state = state_of(form)
    shop = shop_of(request)
    try:
        workflow.decide_setup(shop.place, setup_of(state.document), name=state.name, by=shop.by)
    except JointlabError as error:
        return _shown(request, state, error=error, status=error.http_status)
    return RedirectResponse(_address(state), status_code=303)


@router.post("/mount/open", response_class=HTMLResponse)
def open_file(request: Request, form: Form) -> Response:
    """Fill the form from a mount file."""
    upload = form.get("file")
    try:
        if not isinstance(upload, UploadFile) or not upload.filename:
            raise InputError(Problem("choose a file first", column="file"), subject="the mount")
        name, content = mount_file_in(upload)
        document = document_of(content, name=upload.filename)
        setup_of(document)
    except InputError as error:
        return _shown(request, MountState(USUAL_NAME, {}), error=error, status=422)
    return RedirectResponse(_address(state_of_document(document, name=name)), status_code=303)


def mount_file_in(upload: UploadFile) -> tuple[str, str]:
    """Name and text of a mount file that was handed in.

    Raises
    ------
    InputError
        It is too large, or no text.
    """
    content = upload.file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise InputError(Problem("is too large to be a mount", column="file"), subject="the mount")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        told = "is not UTF-8 text: save it as UTF-8"
        raise InputError(Problem(told, column="file"), subject="the mount") from None
    name = (upload.filename or "").replace("\\", "/").rpartition("/")[2].removesuffix(".toml")
    return name or USUAL_NAME, text
