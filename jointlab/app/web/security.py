"""Who may ask, and what may be written: checked before any page sees the request.

A request must come under a name this server was told to answer to, which keeps out a foreign name that was pointed
here. One that writes must come from a page of ours: its Origin is ours, and it carries the token of its visit. Where
phones are let in, nothing but the pairing page answers the unpaired.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import AsyncIterator
from http.cookies import CookieError, SimpleCookie
from typing import Any

from starlette.datastructures import Headers, MutableHeaders, UploadFile
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from jointlab.app.web.shop import Shop, shop_of

VISIT = "jointlab_visit"
PAIRED = "jointlab_paired"
TOKEN = "token"
TOKEN_HEADER = "x-jointlab-token"

READING = frozenset({"GET", "HEAD", "OPTIONS"})
OPEN_TO_ALL = ("/pair", "/static/")
"""What the unpaired see: the door, and how it looks."""

MOST_BYTES = 32_000_000
"""Largest request taken: a photo or a file, with the form around it."""

MOST_FILES = 12
"""Files taken with one form: a photo, or some mounts."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=()",
}


class WriteRefused(Exception):  # noqa: N818 - it is a refusal, told as one
    """A request to write that does not come from a page of ours."""


class Guard:
    """Stands before the application: names, origin, pairing, size, and the headers of every answer."""

    def __init__(self, app: ASGIApp, *, shop: Shop) -> None:
        self.application = self._app = app
        self._shop = shop

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        cookies = _cookies(headers)
        visit = cookies.get(VISIT, "")
        fresh = secrets.token_urlsafe(24) if len(visit) < 24 else None
        scope["jointlab_visit"] = fresh or visit
        sending = _with_headers(send, scope, fresh)
        refusal = self._refusal(scope, headers, cookies)
        if refusal is not None:
            await refusal(scope, receive, sending)
            return
        await self._app(scope, _limited(receive), sending)

    def _refusal(self, scope: Scope, headers: Headers, cookies: dict[str, str]) -> Response | None:
        if _name_of(headers.get("host", "")) not in self._shop.names:
            return PlainTextResponse("This server does not answer to that name.", status_code=421)
        writes = scope["method"] not in READING
        if writes and not _from_here(scope, headers):
            return PlainTextResponse("Only a page of this server may write here.", status_code=403)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > MOST_BYTES:
            return PlainTextResponse(f"More than {MOST_BYTES // 1_000_000} MB are not taken.", status_code=413)
        open_to_all = scope["path"].startswith(OPEN_TO_ALL)
        if self._shop.pairing is not None and not open_to_all and not self._shop.pairing.knows(cookies.get(PAIRED)):
            return PlainTextResponse(
                "This device is not paired: open the link that jointlab shows where it was started.", status_code=401
            )
        return None


def _cookies(headers: Headers) -> dict[str, str]:
    try:
        return {name: morsel.value for name, morsel in SimpleCookie(headers.get("cookie", "")).items()}
    except CookieError:
        return {}


def cookie_of(request: Request, name: str) -> str | None:
    """A cookie the request brought."""
    return _cookies(request.headers).get(name)


def _name_of(host: str) -> str:
    name, _, port = host.rpartition(":")
    return (name if name and port.isdecimal() else host).casefold()


def _from_here(scope: Scope, headers: Headers) -> bool:
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if site is not None and site not in ("same-origin", "none"):
        return False
    return origin is None or origin == f"{scope['scheme']}://{headers.get('host', '')}"


def _limited(receive: Receive) -> Receive:
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BYTES:
            return {"type": "http.disconnect"}
        return message

    return counted


def _with_headers(send: Send, scope: Scope, fresh: str | None) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if not scope["path"].startswith("/static/"):
                headers.setdefault("cache-control", "no-store")
            if fresh is not None:
                headers.append("set-cookie", f"{VISIT}={fresh}; Path=/; HttpOnly; SameSite=Strict")
        await send(message)

    return sending


def token_of(request: Request) -> str:
    """The token a form of this visit carries."""
    return shop_of(request).token_for(request.scope["jointlab_visit"])


async def allowed_to_write(request: Request) -> AsyncIterator[None]:
    """Refuse a request that writes without the token of its visit, in a header or a field of its form.

    Files that came with the form are let go when the request is done.

    Raises
    ------
    WriteRefused
        It carries none, or another.
    """
    try:
        if request.method not in READING:
            await _check_token(request)
        yield
    finally:
        await request.close()


async def _check_token(request: Request) -> None:
    brought: Any = request.headers.get(TOKEN_HEADER)
    if brought is None:
        brought = (await posted(request)).get(TOKEN)
    if not isinstance(brought, str) or not hmac.compare_digest(brought.encode(), token_of(request).encode()):
        raise WriteRefused


def _is_form(request: Request) -> bool:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    return kind in ("application/x-www-form-urlencoded", "multipart/form-data")


async def posted(request: Request) -> dict[str, str | UploadFile]:
    """Fields of the form that was sent, a field sent twice by its last value; {} where it is no form."""
    if not _is_form(request):
        return {}
    form = await request.form(max_files=MOST_FILES, max_fields=300, max_part_size=200_000)
    return dict(form.items())


async def files_posted(request: Request, name: str) -> list[UploadFile]:
    """Every file that was chosen in one field of the form."""
    await posted(request)
    if not _is_form(request):
        return []
    return [file for file in (await request.form()).getlist(name) if isinstance(file, UploadFile) and file.filename]
