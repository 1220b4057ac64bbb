"""The application: pages, JSON and files of the package, behind the guard."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

from fastapi import Depends, FastAPI
from starlette.routing import BaseRoute
from starlette.staticfiles import StaticFiles

from jointlab import __version__
from jointlab.app import workflow
from jointlab.app.web import json_door, json_questions
from jointlab.app.web.failures import tell_failures
from jointlab.app.web.security import Guard, allowed_to_write
from jointlab.app.web.shop import Shop

PAGES = ("bench", "rigs", "pulls", "importing", "plan", "strength", "compare", "mount", "mounts", "publish", "pair")
"""Modules of ``pages``, in the order of the work; each has a ``router``."""

STATIC = Path(__file__).parent / "static"


def _flat(routes: Iterable[Any]) -> Iterator[BaseRoute]:
    """Routes one by one, whether or not the framework keeps those of a router together."""
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is None:
            yield route
        else:
            yield from _flat(inner.routes)


def make_app(shop: Shop) -> Guard:
    """The web application over one shop book, behind its guard, which also stands before the answer to a fault.

    Every request that writes needs the token of its visit: the dependency stands before all routes, present and to
    come. ``state.table`` holds every route, so that tests of all of them cannot forget one.
    """
    app = FastAPI(
        title="jointlab",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        dependencies=[Depends(allowed_to_write)],
    )
    app.state.shop = shop
    workflow.share_book(shop.place)
    pages: list[Any] = []
    for name in PAGES:
        router = import_module(f"jointlab.app.web.pages.{name}").router
        app.include_router(router, include_in_schema=False)
        pages.extend(router.routes)
    app.state.pages = tuple(pages)
    app.include_router(json_door.router)
    app.include_router(json_questions.router)
    app.state.table = tuple(_flat(app.routes))
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    tell_failures(app)
    return Guard(app, shop=shop)
