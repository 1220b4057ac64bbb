"""Pages from templates: what every page has around it, and how words and numbers are shown."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from starlette.requests import Request
from starlette.responses import HTMLResponse

from jointlab import __version__
from jointlab.app.web.security import token_of
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, JointlabError
from jointlab.record.columns import physical_columns
from jointlab.units import Quantity

if TYPE_CHECKING:
    from jinja2 import Environment

NAVIGATION = (
    ("/", "Bench"),
    ("/pulls", "Pulls"),
    ("/plan", "Plan"),
    ("/strength", "Strength"),
    ("/compare", "Compare"),
    ("/mount", "Mount"),
    ("/mounts", "Mounts"),
    ("/publish", "Publish"),
)


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("jointlab.app.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["worded"] = worded
    environment.filters["titled"] = titled
    environment.filters["figures"] = figured
    environment.filters["exactly"] = exactly
    return environment


def worded(word: object) -> str:
    """A word of a closed list as it is read: underscores are spaces."""
    return str(word).replace("_", " ")


SHOWN_UNITS = {
    Quantity.FORCE: "N",
    Quantity.TORQUE: "N m",
    Quantity.STRESS: "MPa",
    Quantity.TEMPERATURE: "°C",
    Quantity.SHARE: "%",
    Quantity.SPREAD: "g/m²",
}


def titled(column: str) -> str:
    """A column of a pull as it is read, its unit behind."""
    if column not in physical_columns():
        return worded(column)
    base, quantity = physical_columns()[column]
    return f"{worded(base)}, {SHOWN_UNITS.get(quantity, quantity.column_suffix)}"


def figures(number: float | None, count: int = 3) -> str:
    """A number to so many significant figures, plain; a dash where there is none."""
    if number is None:
        return "–"
    text = f"{number:.{count}g}"
    return f"{float(text):.0f}" if "e" in text and abs(number) < 1e9 else text


def exactly(number: float | None, text: str) -> str:
    """A text that stands for a number, with all digits of it behind, as ``--json`` prints them."""
    from markupsafe import Markup

    if number is None:
        return text
    return Markup('<data value="{}">{}</data>').format(repr(float(number)), text)


def figured(number: float | None, count: int = 3, *, scale: float = 1.0) -> str:
    """A number as ``figures`` shows it, all its digits behind; shown ``scale`` times as large."""
    return exactly(number, figures(None if number is None else scale * number, count))


def page(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """One page, or a part of one, from a template; ``token``, ``path`` and the navigation are always there."""
    text = (
        _environment()
        .get_template(template)
        .render(
            navigation=[each for each in NAVIGATION if _is_served(request, each[0])],
            path=request.url.path,
            token=token_of(request),
            lan=shop_of(request).pairing is not None,
            version=__version__,
            part=is_part(request),
            **context,
        )
    )
    return HTMLResponse(text, status_code=status)


def _is_served(request: Request, path: str) -> bool:
    return any(getattr(route, "path", None) == path for route in request.app.state.pages)


def is_part(request: Request) -> bool:
    """Whether a script of ours asks for a part to put into the page that is open."""
    return request.headers.get("hx-request") == "true"


def problems_of(error: JointlabError) -> dict[str, list[str]]:
    """Field -> what is wrong with it; what belongs to no field stands under ""."""
    found: dict[str, list[str]] = {}
    if not isinstance(error, InputError):
        return {"": [str(error)]}
    for problem in error.problems:
        said = f"{problem.value!r} {problem.message}" if problem.value and not problem.column else problem.message
        place = f"row {problem.row}: " if problem.row else ""
        found.setdefault(problem.column or "", []).append(place + said)
    return found
