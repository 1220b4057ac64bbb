"""Mounts in the book: started, proofed, followed, ended."""

from __future__ import annotations

import io
import shutil
from pathlib import Path

import pytest
from PIL import Image

from jointlab.app import mounting, workflow
from jointlab.app.mount_documents import mounts_document
from jointlab.app.mounting import PriedOff, ProofPulled
from jointlab.errors import InputError, UnknownEntryError
from jointlab.mount.setup import CatchClass
from jointlab.record.finding import FindingCode
from jointlab.verdict.field_record import End, Ended, Event, Inspection, Phase, Removal
from jointlab.verdict.values import Outcome

DEMO = Path("jointlab/app/demo_data")
BOWL = DEMO / "mounts" / "bowl_on_maple.toml"


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("mounts") / "shop.db"
    workflow.import_file(place, DEMO / "pulls.csv")
    mounting.start_mount(place, BOWL, name="cherry bowl")
    return place


@pytest.fixture
def place(filled: Path, tmp_path: Path) -> Path:
    return Path(shutil.copyfile(filled, tmp_path / "shop.db"))


def picture(path: Path) -> Path:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "brown").save(out, format="PNG")
    path.write_bytes(out.getvalue())
    return path


def pulled(place: Path, *, times: float = 1.5, held: bool = True, directions: int = 4) -> workflow.Decision:
    plan = mounting.proof_for(place, "cherry bowl", factor=times)
    proof = ProofPulled(plan.force_n, plan.height_mm, plan.arm_mm, directions, held)
    return mounting.keep_proof(place, "cherry bowl", proof)[1]


def codes(decision: workflow.Decision) -> set[FindingCode]:
    return {finding.code for finding in decision.verdict.findings}


def test_a_mount_is_taken_up_with_the_verdict_used_and_its_photos(place, tmp_path):
    started = mounting.start_mount(place, BOWL, photos=[picture(tmp_path / "joint.png")])
    record, photos = mounting.field_record(place, started.name)
    assert started.name == "2"
    assert record.predicted.verdict is Outcome.PASS
    assert record.predicted.margin_lower == started.decision.verdict.margin_lower
    assert record.predicted.label == "pass: margin met under these assumptions"
    assert [photo.caption for photo in photos] == ["joint"]


def test_a_relaxed_verdict_is_kept_with_its_label(place):
    started = mounting.start_mount(place, BOWL, ["criteria.catch=light"], name="relaxed")
    assert "pass (criteria relaxed: light catch in place of severe)" in (
        mounting.field_record(place, started.name)[0].predicted.label
    )


def test_a_name_known_already_needs_a_reason_to_be_decided_anew(place):
    with pytest.raises(InputError):
        mounting.start_mount(place, BOWL, name="cherry bowl")
    again = mounting.start_mount(place, BOWL, name="cherry bowl", reason="looked at after a catch")
    assert again.name == "cherry bowl"


def test_a_survivor_at_the_required_margin_is_told_and_one_below_supports_no_pass(place):
    told = " ".join(pulled(place).verdict.reasons)
    assert "proof" in told.lower()
    assert mounting.field_record(place, "cherry bowl")[0].proofed == pytest.approx(1.5)


def test_a_survivor_clears_a_sheet_with_voids_that_coupons_alone_cannot(place):
    voided = ["joint.void_pct=1", "block.kind=plywood", "joint.substrate=birch plywood"]
    mounting.start_mount(place, BOWL, voided, name="on sheet")
    before = workflow.decide_mount(place, BOWL, voided)
    assert FindingCode.SHEET_VOIDS in codes(before)
    plan = mounting.proof_for(place, "on sheet")
    mounting.keep_proof(place, "on sheet", ProofPulled(plan.force_n, plan.height_mm, plan.arm_mm, 4, held=True))
    after = workflow.decide_mount(place, BOWL, voided)
    assert FindingCode.SHEET_VOIDS not in codes(after)
    other = workflow.decide_mount(place, BOWL, [*voided, "lathe.rpm=700"])
    assert FindingCode.SHEET_VOIDS in codes(other)


def test_a_proof_that_failed_is_never_a_pass_again(place):
    assert workflow.decide_mount(place, BOWL).verdict.verdict is Outcome.PASS
    failed = pulled(place, held=False)
    assert failed.verdict.verdict is Outcome.UNDECIDED
    assert FindingCode.PROOF_FAILED in codes(failed)
    assert FindingCode.PROOF_FAILED in codes(workflow.decide_mount(place, BOWL))


def test_a_catch_voids_verdict_and_proof_and_is_counted(place):
    pulled(place)
    mounting.keep_event(place, "cherry bowl", Event("", Phase.ROUGHING, 0.5, 600.0))
    caught = Event("", Phase.SHAPING, 0.75, 900.0, ((CatchClass.FIRM, 2),), Inspection.SOUND, "dug in")
    record = mounting.keep_event(place, "cherry bowl", caught)
    assert (record.hours, record.top_rpm, record.catches(CatchClass.FIRM)) == (1.25, 900.0, 2)
    assert record.void_because == "catches: 2 firm"
    assert record.proofed is None


def test_an_event_that_says_nothing_or_less_than_nothing_is_refused(place):
    for event in (Event(""), Event("", hours=-1.0), Event("", catches=((CatchClass.LIGHT, -2),))):
        with pytest.raises(InputError):
            mounting.keep_event(place, "cherry bowl", event)
    assert mounting.field_record(place, "cherry bowl")[0].events == ()


def test_nothing_happens_to_a_mount_the_book_does_not_know(place):
    for tell in (
        lambda: mounting.keep_event(place, "chery bowl", Event("", hours=1.0)),
        lambda: mounting.end_mount(place, "chery bowl", Ended("", End.FINISHED, Removal.PARTED)),
        lambda: mounting.proof_for(place, "chery bowl"),
    ):
        with pytest.raises(UnknownEntryError, match="cherry bowl"):
            tell()


def test_prying_off_with_the_scale_is_a_full_size_pull_and_the_record_itself_is_no_strength(place):
    before = len(workflow.list_pulls(place))
    ended = Ended("", End.FINISHED, Removal.PRIED_WITH_SCALE, "clean")
    record = mounting.end_mount(place, "cherry bowl", ended)
    assert record.ended is not None
    assert (record.ended.end, record.ended.note) == (End.FINISHED, "clean")
    assert len(workflow.list_pulls(place)) == before
    cells = mounting.full_size_cells(
        place, "cherry bowl", tested_on="2026-03-10", pried=PriedOff("load_kgf", "110", "400")
    )
    read = workflow.record_pull(place, cells)
    assert read.stored.pull.joint.outline.diameter_mm == 130.0
    assert read.stored.pull.specimen == "mount cherry bowl"
    assert read.stress.upper_mpa == pytest.approx(110 * 9.80665 * 400 / (3.141592653589793 * 130**3 / 32), rel=1e-6)


def test_without_a_reading_the_command_that_would_record_it_is_offered(place):
    cells = mounting.full_size_cells(place, "cherry bowl", tested_on="2026-03-10", pried=None)
    told = mounting.record_command(cells)
    assert told.startswith("jointlab record --batch Y2 --specimen 'mount cherry bowl' --tested_on 2026-03-10")
    assert "--load_kgf READING" in told


def test_every_mount_is_set_against_what_was_said_of_it(place):
    mounting.keep_event(place, "cherry bowl", Event("", Phase.ROUGHING, 0.5, 600.0))
    mounting.end_mount(place, "cherry bowl", Ended("", End.TAKEN_OFF_UNEASY, Removal.SAWN))
    (told,) = mounts_document(mounting.field_records(place)).model_dump(mode="json")["mounts"]
    assert (told["predicted"]["verdict"], told["ended"]["end"]) == ("pass", "taken_off_uneasy")
    assert told["catches"] == {"light": 0, "firm": 0, "severe": 0}
    assert told["events"][0]["phase"] == "roughing"


def test_predicted_against_happened_is_drawn_and_an_empty_book_has_nothing_to_draw(place, tmp_path):
    file = mounting.plot_happened(mounting.field_records(place), tmp_path / "happened.svg")
    assert "on the lathe" in file.read_text(encoding="utf-8")
    with pytest.raises(InputError):
        mounting.plot_happened((), tmp_path / "none.svg")
