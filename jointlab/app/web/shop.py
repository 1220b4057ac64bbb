"""What every request is answered from: the book, who may ask, and the secrets of this run."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import dataclass, field
from pathlib import Path
from typing import cast

from starlette.requests import Request

from jointlab.app.web.pairing import Pairing

OWN_NAMES = ("127.0.0.1", "localhost", "[::1]")
"""Names under which this computer calls itself."""


@dataclass(frozen=True, slots=True)
class Shop:
    """What the pages of one run share.

    Parameters
    ----------
    place
        Path or URL of the book; None for the user's own.
    names
        Host names under which a request may come; any other is refused, so that no foreign name can be pointed here.
    pairing
        Who has been let in; None where every request from this computer is.
    by
        Who is named in the history.
    """

    place: str | Path | None
    names: frozenset[str] = frozenset(OWN_NAMES)
    pairing: Pairing | None = None
    by: str | None = None
    secret: bytes = field(default_factory=lambda: secrets.token_bytes(32), repr=False)

    def token_for(self, visit: str) -> str:
        """The word a form must carry to write, bound to one browser's visit."""
        return hmac.new(self.secret, visit.encode(), hashlib.sha256).hexdigest()


def shop_of(request: Request) -> Shop:
    """The shop a request is answered from."""
    return cast("Shop", request.app.state.shop)
