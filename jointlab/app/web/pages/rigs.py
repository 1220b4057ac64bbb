"""The shop's rigs: what each is, when it was last checked and is due again, a check added, a rig kept."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from jointlab.app import rigging
from jointlab.app.publishing import today
from jointlab.app.saying import rig_words
from jointlab.app.web.forms import LENGTH_UNITS, number_text
from jointlab.app.web.rendering import page, problems_of
from jointlab.app.web.security import posted
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError
from jointlab.record.names import matched
from jointlab.record.rig import RigKind
from jointlab.units import Quantity, units_of

router = APIRouter()
Form = Annotated[dict[str, Any], Depends(posted)]

AS_READ = ("capacity", "resolution", "zero", "step")
READ_QUANTITIES = (Quantity.FORCE, Quantity.STRESS, Quantity.TORQUE)
UNITS = tuple(unit.suffix for quantity in READ_QUANTITIES for unit in units_of(quantity))
"""Units an instrument may show; those that do not belong to a kind are refused by name."""

UNIT_NAMES = {"n": "N", "kn": "kN", "nm": "N m", "inlbf": "in lbf", "ftlbf": "ft lbf", "mpa": "MPa", "kgf": "kgf"}
PLAIN = ("ratio", "class_pct", "notes")


@router.get("/rigs", response_class=HTMLResponse)
def rigs(request: Request, kept: str = "") -> HTMLResponse:
    """Every rig, the one due first first."""
    return _shown(request, kept=kept)


def _shown(
    request: Request,
    *,
    error: InputError | None = None,
    part: str = "",
    typed: dict[str, str] | None = None,
    kept: str = "",
) -> HTMLResponse:
    place, day = shop_of(request).place, today()
    found = sorted(rigging.kept_rigs(place, today=day), key=lambda each: each.stored.rig.check_due_on or "")
    if part == "check":
        names = [matched(each.stored.rig.name) for each in found]
        part = f"check-{1 + names.index(matched((typed or {})['rig']))}"
    return page(
        request,
        "rigs.html.j2",
        status=200 if error is None else error.http_status,
        rigs=[(each, rig_words(each.stored.rig), _units_of(each), _history(request, each)) for each in found],
        kept=next((each for each in found if each.stored.rig.name == kept), None),
        kinds=tuple(RigKind),
        units=UNITS,
        unit_names=UNIT_NAMES,
        length_units=LENGTH_UNITS,
        typed=typed or {},
        wrong_in=part,
        problems={} if error is None else _by_field(error, part),
        today=day,
    )


def _units_of(kept: rigging.KeptRig) -> tuple[str, ...]:
    return tuple(unit.suffix for unit in units_of(kept.stored.rig.kind.reads))


def _history(request: Request, kept: rigging.KeptRig) -> list[tuple[str, str, str]]:
    """When, why and how the rig stood, the newest first; nothing for one that was never changed."""
    if kept.stored.revision == 1:
        return []
    revisions = rigging.rig_history(shop_of(request).place, kept.stored.rig.name)
    return [(each.recorded_at[:10], each.reason or "first kept", rig_words(each.rig)) for each in reversed(revisions)]


def _by_field(error: InputError, part: str) -> dict[str, list[str]]:
    """Problems by field: a column's unit is chosen beside it, and each rig has a form of its own."""
    found: dict[str, list[str]] = {}
    for column, said in problems_of(error).items():
        base = column if column in PLAIN else column.partition("_")[0]
        found.setdefault(f"{part}-{base}" if base else "", []).extend(said)
    return found


def _typed(form: dict[str, Any]) -> dict[str, str]:
    return {key: text.strip()[:4000] for key, text in form.items() if isinstance(text, str) and text.strip()}


def _to(name: str) -> Response:
    return RedirectResponse(f"/rigs?{urlencode({'kept': name})}", status_code=303)


@router.post("/rigs/check", response_class=HTMLResponse)
def check(request: Request, form: Form) -> Response:
    """Keep what a rig showed of something known."""
    typed, shop = _typed(form), shop_of(request)
    unit = typed.get("unit", "")
    cells = {f"{name}_{unit}": number_text(typed[name]) for name in ("known", "shown") if name in typed}
    try:
        checked_on = typed.get("date") or today()
        done = rigging.check_rig(
            shop.place, typed.get("rig", ""), cells, checked_on=checked_on, today=today(), by=shop.by
        )
    except InputError as error:
        return _shown(request, error=error, part="check", typed=typed)
    return _to(done.stored.rig.name)


@router.post("/rigs/keep", response_class=HTMLResponse)
def keep(request: Request, form: Form) -> Response:
    """Keep a new rig, or the next state of one known by that name, with a reason."""
    typed, shop = _typed(form), shop_of(request)
    cells = {name: number_text(typed[name]) for name in ("kind", *PLAIN) if name in typed}
    cells |= {f"{name}_{typed.get('unit', '')}": number_text(typed[name]) for name in AS_READ if name in typed}
    cells |= {f"tare_{typed.get('tare_unit', '')}": number_text(typed[name]) for name in ("tare",) if name in typed}
    cells |= {f"arm_{typed.get('length_unit', '')}": number_text(typed[name]) for name in ("arm",) if name in typed}
    try:
        done = rigging.keep_rig(
            shop.place, typed.get("name", ""), cells, today=today(), reason=typed.get("reason"), by=shop.by
        )
    except InputError as error:
        return _shown(request, error=error, part="keep", typed=typed)
    return _to(done.stored.rig.name)
