"""Hand-made pulls, strengths and mounts for the tests of the verdict."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from jointlab.mount.setup import (
    Blank,
    Block,
    Hold,
    Lathe,
    MountJoint,
    MountSetup,
    Screws,
    Support,
    Work,
)
from jointlab.record.joint import Combination, Disc, Joint, Outline
from jointlab.record.pull import Break, Conditions, Loading, Pull
from jointlab.record.vocabulary import (
    Action,
    BrokeAt,
    GlueFamily,
    GrainToLoad,
    Interlayer,
    Outcome,
    SubstrateKind,
)
from jointlab.strength.values import CombinationStrength, WorkingBound
from jointlab.verdict.evidence import Evidence, Feed

FIFTY = Disc(50.0)
COMBINATION = Combination("yellow glue", "maple offcut", "planed")


def pull_made(
    *,
    batch: str = "A",
    specimen: str = "1",
    action: Action = Action.PRY,
    load: float = 100.0,
    outcome: Outcome = Outcome.BROKE,
    outline: Outline = FIFTY,
    kind: SubstrateKind | None = SubstrateKind.SOLID_FACE,
    family: GlueFamily | None = GlueFamily.PVA,
    grain: GrainToLoad | None = None,
    interlayer: Interlayer | None = None,
    void_pct: float | None = None,
    cure_h: float | None = 170.0,
    moisture_pct: float | None = 10.0,
    grit: float | None = None,
    preparation: str = "planed",
    broke_at: BrokeAt | None = None,
    excluded_because: str | None = None,
    glued_on: str | None = None,
) -> Pull:
    return Pull(
        batch=batch,
        specimen=specimen,
        tested_on="2026-03-14",
        joint=Joint(
            combination=replace(COMBINATION, preparation=preparation),
            outline=outline,
            glue_family=family,
            substrate_kind=kind,
            interlayer=interlayer,
            grain_to_load=grain,
            void_pct=void_pct,
        ),
        action=action,
        loading=Loading(load=load, arm_mm=300.0 if action is Action.PRY else None),
        outcome=outcome,
        broke=Break(broke_at=broke_at),
        conditions=Conditions(glued_on=glued_on, cure_h=cure_h, moisture_pct=moisture_pct, grit=grit),
        excluded_because=excluded_because,
    )


def pulls_made(count: int, *, batches: int = 2, **parts: object) -> list[Pull]:
    return [pull_made(batch="ABCDEFGH"[number % batches], specimen=str(number), **parts) for number in range(count)]


def strength_made(
    bound_mpa: float | None,
    upper_mpa: float | None,
    *,
    action: Action = Action.PRY,
    n: int = 10,
    batches: int = 2,
    confidence: float = 0.95,
) -> CombinationStrength:
    return CombinationStrength(
        combination=COMBINATION,
        action=action,
        n=n,
        n_broke=n,
        n_held=0,
        n_usable=n,
        batches=batches,
        batch_names=tuple("ABCDEFGH"[:batches]),
        families=(),
        bounds=(),
        working_bound=WorkingBound(bound_mpa, upper_mpa, "working 1", 0.95, confidence),
    )


def evidence_made(
    bound_mpa: float | None = 3.0,
    upper_mpa: float | None = 5.0,
    *,
    shear: tuple[float | None, float | None] | None = None,
    n: int = 10,
    batches: int = 2,
    area_mm2: float = 1963.4954084936207,
    cure_h: float | None = 170.0,
    moisture_pct: float | None = 10.0,
    kinds: tuple[SubstrateKind, ...] = (SubstrateKind.SOLID_FACE,),
    families: tuple[GlueFamily, ...] = (GlueFamily.PVA,),
    interlayers: tuple[Interlayer, ...] = (),
    sanded: bool = False,
    void_pct: float = 0.0,
    confidence: float = 0.95,
) -> Evidence:
    def feed(strength: CombinationStrength) -> Feed:
        return Feed(strength.action, strength, n, strength.batch_names, area_mm2, cure_h, moisture_pct)

    parts = {"n": n, "batches": batches, "confidence": confidence}
    return Evidence(
        combination=COMBINATION,
        tension=feed(strength_made(bound_mpa, upper_mpa, **parts)),
        shear=None if shear is None else feed(strength_made(*shear, action=Action.TWIST, **parts)),
        kinds=kinds,
        families=families,
        interlayers=interlayers,
        sanded=sanded,
        void_pct=void_pct,
    )


def setup_made() -> MountSetup:
    """The blank of the worked examples: 300 x 100 mm, 4.354 kg, 600 rpm, 1.1 kW, a 200 mm disc, eight screws."""
    return MountSetup(
        blank=Blank(diameter_mm=300.0, length_mm=100.0, mass_kg=4.354, centre_mm=50.0, offset_mm=2.0),
        joint=MountJoint(combination=COMBINATION, outline=Disc(200.0), age_h=200.0, batch="A"),
        block=Block(thickness_mm=40.0, wood="maple, sugar", kind=SubstrateKind.SOLID_FACE),
        lathe=Lathe(speed_rpm=600.0, motor_w=1100.0, rotor_kg_m2=0.020),
        work=Work(reach_mm=100.0, min_radius_mm=75.0),
        hold=Hold(plate_mm=190.0),
        support=Support(tailstock_mm=100.0),
        screws=Screws(count=8, circle_mm=160.0, diameter_mm=5.486, thread_mm=32.0),
    )


@pytest.fixture
def setup() -> MountSetup:
    return setup_made()


@pytest.fixture
def make_pulls() -> Callable[..., list[Pull]]:
    return pulls_made


@pytest.fixture
def make_pull() -> Callable[..., Pull]:
    return pull_made


@pytest.fixture
def make_strength() -> Callable[..., CombinationStrength]:
    return strength_made


@pytest.fixture
def make_evidence() -> Callable[..., Evidence]:
    return evidence_made
