"""The door: a link lets one browser in, and one that is in can let in another."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab.app.web.rendering import page
from jointlab.app.web.security import PAIRED, cookie_of
from jointlab.app.web.shop import shop_of
from jointlab.errors import UnknownEntryError

router = APIRouter()


@router.get("/pair/another", response_class=HTMLResponse)
def another(request: Request) -> HTMLResponse:
    """A new link and its square code, for a device that is in."""
    pairing = shop_of(request).pairing
    if pairing is None or not pairing.knows(cookie_of(request, PAIRED)):
        raise UnknownEntryError(what="link", asked="for a device that is not let in")
    import segno

    link = f"{request.url.scheme}://{request.headers['host']}/pair/{pairing.new_link()}"
    code = segno.make(link, error="m").svg_data_uri(scale=6, border=4, dark="#000", light="#fff")
    return page(request, "pair_another.html.j2", link=link, code=code)


@router.get("/pair/{word}", response_class=HTMLResponse)
def asked(request: Request, word: str) -> HTMLResponse:
    """Ask before letting in: what merely looks at a link does not use it up."""
    return page(request, "pair.html.j2", word=word, said="")


@router.post("/pair/{word}", response_class=HTMLResponse)
def pair(request: Request, word: str) -> Response:
    """Let this browser in, once."""
    pairing = shop_of(request).pairing
    cookie = None if pairing is None else pairing.pair(word)
    if cookie is None:
        shut = pairing is not None and pairing.shut
        said = (
            "Too many links were tried. Wait a minute, and take a new link."
            if shut
            else "This link was used already, is too old, or is none of ours. Take a new one where jointlab runs."
        )
        return page(request, "pair.html.j2", status=429 if shut else 403, word="", said=said)
    response = RedirectResponse("/", status_code=303)
    response.set_cookie(PAIRED, cookie, httponly=True, samesite="strict", path="/")
    return response
