"""Let a phone in once: a link that works one time, and a cookie that tells the phone apart from then on."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable

MOST_TRIES = 10
TRIES_WITHIN_S = 60.0
"""Wrong links tried before the door stays shut for a while; a link has 128 bits, so guessing is hopeless anyway."""

LINK_HOLDS_S = 900.0
"""How long a link waits to be used."""


def _digest(word: str) -> bytes:
    return hashlib.sha256(word.encode("utf-8", "replace")).digest()


class Pairing:
    """Links given out, and the browsers let in. Nothing of it is written down: a new run asks anew."""

    def __init__(self, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._links: dict[bytes, float] = {}
        self._paired: set[bytes] = set()
        self._wrong: deque[float] = deque()

    def new_link(self) -> str:
        """The secret of a link that works once, within a quarter of an hour."""
        word = secrets.token_urlsafe(16)
        with self._lock:
            now = self._clock()
            self._links = {key: until for key, until in self._links.items() if until > now}
            self._links[_digest(word)] = now + LINK_HOLDS_S
        return word

    @property
    def shut(self) -> bool:
        """Whether too many wrong links were tried of late."""
        with self._lock:
            return self._is_shut()

    def _is_shut(self) -> bool:
        now = self._clock()
        while self._wrong and self._wrong[0] <= now - TRIES_WITHIN_S:
            self._wrong.popleft()
        return len(self._wrong) >= MOST_TRIES

    def pair(self, word: str) -> str | None:
        """The cookie for the browser that brings this link's secret; None where it is wrong, old, used, or shut."""
        with self._lock:
            if self._is_shut():
                return None
            until = self._links.pop(_digest(word), None)
            if until is None or until <= self._clock():
                self._wrong.append(self._clock())
                return None
            cookie = secrets.token_urlsafe(32)
            self._paired.add(_digest(cookie))
            return cookie

    def knows(self, cookie: str | None) -> bool:
        """Whether the browser with this cookie was let in."""
        if not cookie:
            return False
        asked = _digest(cookie)
        with self._lock:
            return any(hmac.compare_digest(asked, known) for known in self._paired)
