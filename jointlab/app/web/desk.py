"""Work that outlasts a request: it goes on when the page is left, and is found again when it is opened anew."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import Any, TypeVar

from starlette.requests import Request

from jointlab.errors import JointlabError

MOST_KEPT = 24
"""Finished work that is kept, the oldest forgotten first."""

SOON_S = 0.8
"""How long a page waits before it shows progress in place of the answer."""

DRAWING = threading.Lock()
"""Figures are drawn one at a time: the settings of the drawing library are shared by all of a process."""

Item = TypeVar("Item")


class Job:
    """One piece of work: how far it is, and what came of it."""

    def __init__(self, work: Callable[[Job], Any], title: str = "") -> None:
        self._work = work
        self.title = title
        self.begun = False
        self._done = threading.Event()
        self._answer: Any = None
        self._failure: Exception | None = None
        self.step, self.steps = 0, 0

    def progress(self, tasks: Sequence[Item], _words: str, *, more: int = 0) -> Iterator[Item]:
        """The tasks one by one, counted as they are taken; ``more`` steps come after them."""
        self.steps = len(tasks) + more
        for number, task in enumerate(tasks):
            self.step = number
            yield task
        self.step = len(tasks)

    def run(self) -> None:
        """Work until it is done or has failed."""
        self.begun = True
        try:
            self._answer = self._work(self)
        except Exception as failure:
            self._failure = failure
        finally:
            self._done.set()

    def is_done(self, *, within_s: float) -> bool:
        """Whether it is done by then."""
        return self._done.wait(within_s)

    @property
    def failed(self) -> bool:
        """Whether something went wrong that was not the asker's doing."""
        return self._failure is not None and not isinstance(self._failure, JointlabError)

    def answer(self) -> Any:
        """What came of it, waited for; raises what it raised."""
        self._done.wait()
        if self._failure is not None:
            raise self._failure
        return self._answer


class Desk:
    """The work of one server, one piece after the other, by what was asked."""

    def __init__(self) -> None:
        self._jobs: OrderedDict[Hashable, Job] = OrderedDict()
        self._turn = threading.Lock()
        self._guard = threading.Lock()

    def job(self, key: Hashable, work: Callable[[Job], Any], *, title: str = "") -> Job:
        """The work known by this key; begun if it is new, or failed before by a fault. Titled work can be listed."""
        with self._guard:
            known = self._jobs.get(key)
            if known is not None and not known.failed:
                self._jobs.move_to_end(key)
                return known
            begun = self._jobs[key] = Job(work, title)
            self._forget()
        threading.Thread(target=self._take_turn, args=(begun,), daemon=True).start()
        return begun

    def titled(self) -> list[tuple[Hashable, Job]]:
        """Work that was given a title, the newest first: whoever left its page finds it again."""
        with self._guard:
            return [(key, job) for key, job in reversed(self._jobs.items()) if job.title]

    def known(self, key: Hashable) -> Job | None:
        """The work known by this key, if it is not forgotten."""
        with self._guard:
            return self._jobs.get(key)

    def _forget(self) -> None:
        finished = [key for key, job in self._jobs.items() if job.is_done(within_s=0.0)]
        for key in finished[: max(0, len(self._jobs) - MOST_KEPT)]:
            del self._jobs[key]

    def _take_turn(self, job: Job) -> None:
        with self._turn:
            job.run()


_MAKING = threading.Lock()


def desk_of(request: Request) -> Desk:
    """The desk of this server."""
    state = request.app.state
    with _MAKING:
        if not hasattr(state, "desk"):
            state.desk = Desk()
    desk: Desk = state.desk
    return desk
