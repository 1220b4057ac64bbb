"""Findings: what a practitioner should know beside the number, as data that every door shows."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs."""

    NOTE = "note"
    QUESTION = "question"
    WARNING = "warning"
    BLOCKING = "blocking"


class FindingCode(StrEnum):
    """The closed list of findings; the comment behind each says when it is given."""

    # record: a reading that looks wrong is questioned (judgement)
    STRESS_HIGH = "stress_high"  # above what the wood of the joint can carry: a unit mistaken?
    STRESS_LOW = "stress_low"  # below 0.05 MPa: did the rig slip?
    NEAR_CAP = "near_cap"  # peak within 2 % of the rig's limit: did it hold?
    CURED_SHORT = "cured_short"  # tested before 24 h of cure
    WOOD_MOIST = "wood_moist"  # above 16 % moisture
    FORCE_UNIT_SAID_BACK = "force_unit_said_back"  # kg or lb read as force
    NO_INFORMATION = "no_information"  # handled, and the break was outside the joint
    RIG_RANGE = "rig_range"  # expected peak outside 20-80 % of the rig's range
    RIG_UNCHECKED = "rig_unchecked"  # never checked against a known mass
    RIG_CHECK_OLD = "rig_check_old"  # last check over a year ago
    RIG_CHECK_OFF = "rig_check_off"  # the last check was further off than class and resolution allow

    # strength: what a bound rests on, or why there is none
    NO_USABLE_PULLS = "no_usable_pulls"  # none of the pulls says anything of the strength
    FEW_PULLS = "few_pulls"  # fewer than five usable pulls: never a pass
    ONE_BATCH = "one_batch"  # one glue-up only: its successor may differ as a whole; never a pass
    NO_BREAK = "no_break"  # every joint held
    ONE_BREAK = "one_break"  # the fit rests on a single break
    HELD_MOSTLY = "held_mostly"  # more than half of the usable pulls held: no working bound; never a pass
    FEW_LOW_BREAKS = "few_low_breaks"  # fewer than two breaks below the lowest load held: no working bound
    FIRST_BREAK_UNRESOLVED = "first_break_unresolved"  # broke when handled, nothing says what the rig can show: bound 0
    BATCHES_NOT_COUNTED = "batches_not_counted"  # censored: the bound leaves differences between glue-ups out
    NO_SPREAD_SEEN = "no_spread_seen"  # the readings are too coarse to show the spread

    PREVIEW = "preview"  # a quick look at censored pulls: few simulated samples; never a pass
    COUPONS_MISS_VOIDS = "coupons_miss_voids"  # sheet goods: rare deep voids cannot be cleared by coupons

    # compare: what a comparison rests on
    TOO_FEW_TO_COMPARE = "too_few_to_compare"  # fewer than two usable pulls: left out of the comparison
    GLUE_UPS_ASSUMED = "glue_ups_assumed"  # the spread between glue-ups is assumed, not seen
    GLUE_UP_CONFOUNDED = "glue_up_confounded"  # one glue-up a combination: they cannot be told apart
    OUTLIER = "outlier"  # a strength far from the others of its combination: flagged, never dropped
    SPREADS_DIFFER = "spreads_differ"  # the analysis takes one spread for all, and a test says otherwise

    # plan: what a plan can show
    PLAN_SHORT = "plan_short"  # the most specimens do not reach the chance asked for

    # mount: what the setup alone says
    JOINT_YOUNG = "joint_young"  # glued less than a day ago: treated as untested; never a pass
    SURFACE_UNRATED = "surface_unrated"  # waxed, wet or oily faces have no rating; never a pass
    MOISTURE_APART = "moisture_apart"  # blank and block more than 2 % moisture apart; never a pass
    WOOD_MOVES = "wood_moves"  # a joint over 100 mm across the grain moves apart over days
    LEFT_HANGING = "left_hanging"  # under load for more than eight hours
    GAP_WIDE = "gap_wide"  # a gap wider than the glue bridges
    GLUE_SOFTENS = "glue_softens"  # a glue that heat or solvents soften
    SPEED_ABOVE_PRACTICE = "speed_above_practice"  # diameter x rpm above what the trade turns at
    BLOCK_LAYERED = "block_layered"  # a block of sheet goods comes apart in its layers
    SCREWS_UNRATED = "screws_unrated"  # a condition of the screws for which no formula holds; never a pass
    SCREWS_SHALLOW = "screws_shallow"  # less thread in the block than six diameters
    SCREW_TIPS_NEAR = "screw_tips_near"  # screw tips within reach of the parting cut
    PLATE_SMALL = "plate_small"  # the joint stands out beyond the plate
    PLATE_SEAT = "plate_seat"  # seat and lock of the plate on the spindle: a check before start
    TAILSTOCK_NOT_COUNTED = "tailstock_not_counted"  # a tailstock that must come away, or stands nearer than the cut
    ASSUMPTION_CHANGED = "assumption_changed"  # an assumption of the loads set by hand
    REACH_LONG = "reach_long"  # a cut far out on a small joint; a steady rest is not counted

    # fit-up: a face measured around
    FEW_READINGS = "few_readings"  # too few readings to tell warp from tilt
    FACE_TILTED = "face_tilted"  # the face leans against the axis: the blank's rim will wobble
    RUNOUT_GREW = "runout_grew"  # the runout is not what it was when last read

    # verdict: what the tests say, and do not say, of this mount
    NO_PULLS = "no_pulls"  # no usable pull of the combination in tension; never a pass
    TENSION_FROM_PULL = "tension_from_pull"  # tension from straight pulls, fewer than five pries
    SHEAR_FROM_SHARE = "shear_from_share"  # shear as a share of the tension, no five twists
    NOT_COMPARED = "not_compared"  # unknown on the side of the tests or of the mount, taken as equal
    FACTOR_CHANGED = "factor_changed"  # a factor set by hand
    KIND_DIFFERS = "kind_differs"  # the block is of another kind than the tested substrate; never a pass
    KINDS_MIXED = "kinds_mixed"  # pulls of one combination on several kinds of substrate
    INTERLAYER_DIFFERS = "interlayer_differs"  # the mount has another interlayer than the tested joints; never a pass
    END_GRAIN_ON_FACE = "end_grain_on_face"  # end-grain block on evidence from face or edge grain; never a pass
    SOLE_BOND_WEAK = "sole_bond_weak"  # hot melt, tape or cyanoacrylate alone under a blank over 1 kg; never a pass
    GREEN_BLANK = "green_blank"  # green blank on a glue that needs dry wood; never a pass
    SHEET_VOIDS = "sheet_voids"  # sheet goods with voids, cleared by coupons alone without a proof; never a pass
    PROOF_FIRST = "proof_first"  # a pass on sheet goods: proof this very mount before the first cut
    LOOK_TAKEN = "look_taken"  # which look at the evidence this is, and whether it was planned
    LOOKS_SPENT = "looks_spent"  # earlier looks spent all of the doubt; never a pass
    LOOK_NOT_KEPT = "look_not_kept"  # the book could not take the look down; never a pass
    LOOK_EARLY = "look_early"  # asked before the plan's glue-ups are complete: nothing is spent; never a pass
    GLUE_UPS_RENAMED = "glue_ups_renamed"  # pulls that were given another glue-up's name after they were recorded
    PROOF_FAILED = "proof_failed"  # this very mount failed its proof; never a pass
    OTHERS_ALONE = "others_alone"  # evidence of other shops alone; never a pass
    OTHERS_LEFT_OUT = "others_left_out"  # other shops' pulls are shown and not counted: the shop's own are enough
    BATCHES_COPIED = "batches_copied"  # every reading of a glue-up is another's, under a new name
    PULLS_EXCLUDED = "pulls_excluded"  # pulls of the combination are kept out, each with its cause
    PULLS_QUESTIONED = "pulls_questioned"  # readings that look wrong are used: correct them, or exclude them
    BATCHES_ALIKE = "batches_alike"  # glue-ups of different names made at one moment: are they two?
    LINK_UNRATED = "link_unrated"  # a link without test and source: never a pass
    BLANK_JOINTS_UNRATED = "blank_joints_unrated"  # a segmented blank whose own joints are not described


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to know.

    Parameters
    ----------
    code
        From the closed list.
    severity
        A ``blocking`` finding turns a pass into undecided, never into a fail.
    text
        The sentence for the user.
    """

    code: FindingCode
    severity: Severity
    text: str

    @property
    def blocks(self) -> bool:
        """Whether it keeps a verdict from being a pass."""
        return self.severity is Severity.BLOCKING
