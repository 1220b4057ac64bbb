"""Should it be glued at all? The ways to hold a blank side by side, each rated where there is a basis, else unrated."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from jointlab.mount.actions import CASE_OF_CATCH
from jointlab.mount.demand import LinkDemand, ScrewDemand
from jointlab.mount.mount_demand import SCREWS, mount_demand
from jointlab.mount.screws import ScrewRating, screw_withdrawal_n
from jointlab.mount.setup import BlankGrain, Block, Grain, HoldKind, MountSetup
from jointlab.record.vocabulary import SubstrateKind

SOURCE = "trade"


class Footing(StrEnum):
    """What a way of holding is judged by."""

    TESTS = "tests"
    SOURCE = "source"
    UNRATED = "unrated"


@dataclass(frozen=True, slots=True)
class HoldOption:
    """One way to hold the blank.

    Parameters
    ----------
    name
        In words.
    kind
        The word of ``[hold] kind``.
    footing
        ``tests``: as strong as the tested joint allows, see the verdict. ``source``: by a published formula.
        ``unrated``: nothing rates it, and it cannot pass.
    rated_by
        What rates it, or why nothing does.
    margin
        Strength over demand under the chosen catch and the steady cases where the footing is a source, else None.
    cautions
        What the trade says of it.
    """

    name: str
    kind: HoldKind
    footing: Footing
    rated_by: str
    margin: float | None
    cautions: tuple[str, ...]


def holds_of(setup: MountSetup) -> tuple[HoldOption, ...]:
    """The ways to hold this blank, the described one first among them, then those that need no glue.

    Parameters
    ----------
    setup
        One mount. Its screws serve the plate on the blank too: the same count, circle and thread, in the blank's wood.
    """
    return (_glued(setup), _plate_on_blank(setup), _glued_tenon(), _tenon(setup), _recess(setup), _between(setup))


def _glued(setup: MountSetup) -> HoldOption:
    rating = screw_withdrawal_n(setup)
    margin = screw_margin(setup, rating)
    screws = "not rated: " + rating.reason if margin is None else f"keep margin {margin:.2g}"
    return HoldOption(
        name="waste block, glued, on a faceplate",
        kind=HoldKind.FACEPLATE,
        footing=Footing.TESTS,
        rated_by=f"The glue line by the shop's own tests. Its screws alone {screws}.",
        margin=None,
        cautions=("Block diameter counts for more than the glue: the margin grows with its cube.",),
    )


def _plate_on_blank(setup: MountSetup) -> HoldOption:
    on_blank = plate_on_blank(setup)
    rating = screw_withdrawal_n(on_blank)
    if setup.blank.wood is None and rating.withdrawal_n is None and setup.screws is not None:
        rating = ScrewRating(None, "the wood of the blank is not given: [blank] wood")
    margin = screw_margin(on_blank, rating)
    return HoldOption(
        name="faceplate screwed straight into waste wood of the blank",
        kind=HoldKind.FACEPLATE_ON_BLANK,
        footing=Footing.UNRATED if margin is None else Footing.SOURCE,
        rated_by=rating.reason,
        margin=margin,
        cautions=(
            "Needs waste as deep as the screws and the parting cut: keep 3 mm clear of the tips.",
            "No glue, no cure, no block: the plainest hold where the blank has the wood to spare.",
        ),
    )


def plate_on_blank(setup: MountSetup) -> MountSetup:
    """The mount with its plate screwed to the blank: the screws' plane is the blank's face, in the blank's wood."""
    end = setup.blank.grain is BlankGrain.END
    kinds = {
        BlankGrain.FACE: SubstrateKind.SOLID_FACE,
        BlankGrain.END: SubstrateKind.SOLID_END,
        BlankGrain.SEGMENTED: SubstrateKind.SEGMENTED,
    }
    block = Block(
        thickness_mm=0.0,
        wood=setup.blank.wood,
        kind=kinds[setup.blank.grain],
        grain=Grain.END if end else Grain.FACE,
        moisture_pct=setup.blank.moisture_pct,
    )
    return replace(setup, block=block, hold=replace(setup.hold, kind=HoldKind.FACEPLATE_ON_BLANK))


def screw_margin(setup: MountSetup, rating: ScrewRating) -> float | None:
    """Withdrawal relied on over the largest demand of the steady cases and the chosen catch; None when not rated."""
    if rating.withdrawal_n is None:
        return None
    chosen = CASE_OF_CATCH[setup.criteria.catch]
    links = [link for link in mount_demand(setup).links if link.link == SCREWS]
    counted = [_withdrawal_n(link) for link in links if link.case.steady or link.case is chosen]
    return float(np.min(rating.withdrawal_n)) / max(counted)


def _withdrawal_n(link: LinkDemand) -> float:
    assert isinstance(link.demand, ScrewDemand)
    return float(np.max(link.demand.withdrawal_n))


_JAWS_UNRATED = "No source gives the grip of jaws on wood: unrated."

_JAWS = (
    "A shoulder must bear on the jaws' faces all around, and the tenon must not touch bottom.",
    "Jaws near closed on a tenon, near their natural circle, grip on the whole of it.",
    "Re-tighten after the first cuts: the wood gives.",
)


def _glued_tenon() -> HoldOption:
    return HoldOption(
        name="waste block, glued, with a tenon turned on it",
        kind=HoldKind.TENON_IN_JAWS,
        footing=Footing.UNRATED,
        rated_by=f"The glue line by the shop's own tests. {_JAWS_UNRATED}",
        margin=None,
        cautions=_JAWS,
    )


def _tenon(setup: MountSetup) -> HoldOption:
    grain = ("Its fibres run across it and can shear off: keep it short and wide.",) if _face(setup) else ()
    return HoldOption(
        name="tenon of the blank's own wood in jaws",
        kind=HoldKind.TENON_IN_JAWS,
        footing=Footing.UNRATED,
        rated_by=_JAWS_UNRATED,
        margin=None,
        cautions=(*_JAWS, "A tenon of sound wood, without a crack, knot or pith.", *grain),
    )


def _recess(setup: MountSetup) -> HoldOption:
    rim = "Jaws that spread split a thin rim: leave wood around the recess, more on end grain and burl."
    grain = () if _face(setup) else ("On end grain a recess splits sooner than on face grain.",)
    return HoldOption(
        name="recess in the blank on spreading jaws",
        kind=HoldKind.RECESS_ON_JAWS,
        footing=Footing.UNRATED,
        rated_by=_JAWS_UNRATED,
        margin=None,
        cautions=(rim, *grain),
    )


def _between(setup: MountSetup) -> HoldOption:
    centre = "Rough it round between centres first, whatever holds it later: less offset for the joint to carry."
    hollowed = bool(setup.work.min_radius_mm < setup.blank.diameter_mm / 8.0)
    hollow = ("Cuts near the axis have no room beside a tail centre.",) if hollowed else ()
    return HoldOption(
        name="between centres",
        kind=HoldKind.BETWEEN_CENTRES,
        footing=Footing.UNRATED,
        rated_by="Nothing published rates the drive of a spur centre under a catch: unrated.",
        margin=None,
        cautions=(centre, *hollow),
    )


def _face(setup: MountSetup) -> bool:
    return setup.blank.grain is BlankGrain.FACE
