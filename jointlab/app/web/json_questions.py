"""Questions of the JSON door that store nothing: compare, plan, target, runout, mounts, pool.

Answers are those of the command line's ``--json``.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Annotated, Literal

from fastapi import APIRouter, File, Query, Request, UploadFile
from fastapi import Path as InPath
from pydantic import Field

from jointlab.app import answers
from jointlab.app.comparing import CompareDocument
from jointlab.app.documents import RunoutDocument, TargetDocument
from jointlab.app.mount_documents import MountsDocument
from jointlab.app.plan_documents import PlanDocument, PlansDocument
from jointlab.app.pooling import PoolDocument
from jointlab.app.web.json_door import TOLD, WRITES, Asked, MountAsked, Selected, Share
from jointlab.app.web.shop import shop_of
from jointlab.errors import InputError, Problem
from jointlab.mount.fit_up import Stage
from jointlab.record.vocabulary import Action, GlueFamily

router = APIRouter(prefix="/api", responses=TOLD)

Size = Annotated[float, Field(gt=0.0, le=100_000.0)]
Few = Annotated[int, Field(ge=1, le=1000)]
Name = Annotated[str, Field(max_length=200)]
MOST_READINGS = 200_000
MOST_PACKAGES = 50


class TargetAsked(MountAsked):
    """A mount, and the coupon it is to be tested by: a disc; with ``rig``, that rig's arm and limit hold."""

    diameter_mm: Size = 50.0
    action: Literal["pry", "pull"] = "pry"
    arm_mm: Size = 300.0
    count: Few = 6
    batches: Few = 2
    cap_kgf: Size | None = None
    rig: Name | None = None


class RunoutAsked(Asked):
    """Readings around a face as comma-separated text, its first row naming the columns; and read again after."""

    readings: Annotated[str, Field(max_length=MOST_READINGS)]
    after: Annotated[str, Field(max_length=MOST_READINGS)] | None = None
    stage: Stage = Stage.MOUNTING
    radius_mm: Size | None = None
    blank_diameter_mm: Size | None = None
    glue_family: GlueFamily | None = None


class PlanAsked(Asked):
    """A plan, in the words and units of the command line; a name is for its glue-ups, nothing is kept."""

    combinations: Annotated[list[Name], Field(min_length=1, max_length=6)]
    expected_mpa: Annotated[float, Field(gt=0.0, le=1000.0)]
    glued_from: Annotated[str, Field(max_length=10)]
    hold_mpa: Annotated[float, Field(gt=0.0, le=1000.0)] | None = None
    difference_pct: Annotated[float, Field(gt=0.0, le=1000.0)] | None = None
    spread_pct: Annotated[float, Field(gt=0.0, le=200.0)] = 25.0
    glue_ups: Annotated[int, Field(ge=1, le=20)] = 2
    days_between: Annotated[int, Field(ge=0, le=1000)] = 1
    cure_h: Annotated[float, Field(ge=0.0, le=100_000.0)] = 168.0
    looks: Annotated[int, Field(ge=1, le=20)] | None = None
    each: Annotated[int, Field(ge=1, le=50)] | None = None
    name: Name | None = None
    control: Name | None = None
    rig: Name | None = None
    action: Action = Action.PRY
    diameter_mm: Size | None = None
    hole_mm: Size | None = None
    width_mm: Size | None = None
    depth_mm: Size | None = None
    arm_mm: Size | None = None
    seed: Annotated[int, Field(ge=0, le=2**31)] = 1


@router.get("/compare")
def compare(
    request: Request,
    selection: Selected,
    control: Annotated[str | None, Query(max_length=500)] = None,
    analysis: Annotated[str | None, Query(max_length=50)] = None,
    confidence: Share = 0.95,
) -> CompareDocument:
    """Which differences between combinations are real."""
    from jointlab.app import comparing

    found = comparing.compare_in(
        shop_of(request).place, selection, control=control, analysis=analysis, confidence=confidence
    )
    return comparing.compare_document(found)


@router.get("/plans")
def plans(request: Request) -> PlansDocument:
    """The plans of the book and how far their pulls have come."""
    from jointlab.app import planning
    from jointlab.app.plan_documents import plans_document

    return plans_document(planning.kept_plans(shop_of(request).place))


@router.get("/plans/{name}")
def kept_plan(request: Request, name: Annotated[str, InPath(max_length=200)]) -> PlanDocument:
    """A plan of the book: what is pulled, what is left, what was done otherwise than planned."""
    from jointlab.app import planning
    from jointlab.app.plan_documents import plan_document

    kept = planning.kept_plan(shop_of(request).place, name)
    return plan_document(kept.plan, kept.progress)


@router.post("/plan", **WRITES)
def plan(request: Request, asked: PlanAsked) -> PlanDocument:
    """How many specimens, in what order, and what they can show; nothing is kept."""
    from jointlab.app import planning
    from jointlab.app.plan_documents import plan_document

    words = planning.PlanWords(**asked.model_dump() | {"combinations": tuple(asked.combinations)})
    return plan_document(planning.planned(shop_of(request).place, words))


@router.post("/target", **WRITES)
def target(request: Request, asked: TargetAsked) -> TargetDocument:
    """What one coupon must hold for a mount, before any test."""
    from jointlab.app.publishing import today
    from jointlab.app.targeting import setup_on_rig
    from jointlab.mount.setup_of import setup_of
    from jointlab.record.joint import Disc
    from jointlab.units import STANDARD_GRAVITY_M_S2
    from jointlab.verdict.target import Coupon, target_of

    action = Action(asked.action)
    coupon = Coupon(
        outline=Disc(asked.diameter_mm),
        action=action,
        arm_mm=asked.arm_mm if action is Action.PRY else None,
        n=asked.count,
        batches=asked.batches,
        cap_n=None if asked.cap_kgf is None else asked.cap_kgf * STANDARD_GRAVITY_M_S2,
    )
    setup = setup_of(asked.mount)
    if asked.rig is None:
        return answers.target_document(target_of(setup, coupon))
    on_rig = setup_on_rig(shop_of(request).place, setup, coupon, rig=asked.rig, today=today())
    return answers.target_document(on_rig.target)


@router.post("/runout", **WRITES)
def runout(asked: RunoutAsked) -> RunoutDocument:
    """How true a face is, and whether it has moved."""
    from jointlab.app import fit_ups

    face = fit_ups.face_of(
        ("readings", asked.readings),
        after=None if asked.after is None else ("after", asked.after),
        stage=asked.stage,
        radius_mm=asked.radius_mm,
        blank_diameter_mm=asked.blank_diameter_mm,
        glue_family=asked.glue_family,
    )
    return answers.runout_document(face)


@router.get("/mounts")
def mounts(request: Request) -> MountsDocument:
    """The field record: what was said of each mount, and what became of it."""
    from jointlab.app import mounting
    from jointlab.app.mount_documents import mounts_document

    return mounts_document(mounting.field_records(shop_of(request).place))


@router.get("/mounts/{name}")
def one_mount(request: Request, name: Annotated[str, InPath(max_length=200)]) -> MountsDocument:
    """The field record of one mount."""
    from jointlab.app import mounting
    from jointlab.app.mount_documents import mounts_document

    return mounts_document(mounting.field_record(shop_of(request).place, name)[:1])


@router.post("/pool", **WRITES)
def pool(
    packages: Annotated[list[UploadFile], File(description="Packages of ``publish``, each a .zip file.")],
    selection: Selected,
    confidence: Share = 0.95,
) -> PoolDocument:
    """Results of several shops together; nothing of them is kept."""
    from jointlab.app import pooling

    if len(packages) > MOST_PACKAGES:
        told = f"at most {MOST_PACKAGES} at once: use jointlab pool"
        raise InputError(Problem(told, column="packages", value=str(len(packages))), subject="pool")
    wish = pooling.PoolWish(
        selection.glue, selection.substrate, selection.preparation, selection.action, confidence, ()
    )
    with tempfile.TemporaryDirectory() as folder:
        paths = [_kept(Path(folder), number, package) for number, package in enumerate(packages, start=1)]
        return pooling.pool_document(pooling.pool_packages(paths, wish))


def _kept(folder: Path, number: int, package: UploadFile) -> Path:
    """The package as a file under its own name as far as that is plain, each in a folder of its own."""
    name = (package.filename or "").replace("\\", "/").rpartition("/")[2]
    bare = "".join(letter if letter.isalnum() or letter in " -_." else "_" for letter in name).strip(" .")[:100]
    own = folder / str(number)
    own.mkdir()
    path = own / (bare or f"package-{number}.zip")
    path.write_bytes(package.file.read())
    return path
