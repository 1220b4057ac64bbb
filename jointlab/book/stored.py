"""What the shop book gives back: stored pulls, their history, receipts."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from jointlab.record.joint import Combination
from jointlab.record.pull import Pull
from jointlab.record.rig import Rig
from jointlab.record.vocabulary import Action


@dataclass(frozen=True, slots=True)
class StoredPull:
    """A pull as it stands in the book now. ``id`` stays for good; ``revision`` counts its corrections from 1."""

    id: int
    revision: int
    pull: Pull


@dataclass(frozen=True, slots=True)
class PullRevision:
    """One state of a pull: what stood there, since when, why, and by whom where that was given.

    ``recorded_at`` is the computer's UTC clock as it was; the order of revisions does not rest on it. ``reason`` is
    None for the first. ``digest`` links it to the revision stored before it, of whichever pull.
    """

    pull_id: int
    revision: int
    recorded_at: str
    reason: str | None
    by: str | None
    pull: Pull
    digest: str


@dataclass(frozen=True, slots=True)
class PullSelection:
    """Which pulls are asked for; None asks for any. Names match without case; preparation "" asks for none given.

    ``limit`` asks for so many at the most, ``after`` for those with a larger number than this: a long list by pages.
    """

    glue: str | None = None
    substrate: str | None = None
    preparation: str | None = None
    action: Action | None = None
    batch: str | None = None
    ids: tuple[int, ...] | None = None
    after: int | None = None
    limit: int | None = None


EVERY_PULL = PullSelection()


@dataclass(frozen=True, slots=True)
class StoredCombination:
    """A combination and action in the book, spelled as it was first. ``pulls`` counts the ``excluded`` ones too."""

    combination: Combination
    action: Action
    pulls: int
    excluded: int


@dataclass(frozen=True, slots=True)
class ImportReceipt:
    """What an import did: pulls stored, and rows skipped because they are in the book already."""

    stored: int
    skipped: int


@dataclass(frozen=True, slots=True)
class StoredRig:
    """A rig as it is kept now; ``revision`` counts its changes from 1."""

    revision: int
    rig: Rig


@dataclass(frozen=True, slots=True)
class RigRevision:
    """One state of a rig: since when, why, and by whom where that was given. Pulls keep their load."""

    revision: int
    recorded_at: str
    reason: str | None
    by: str | None
    rig: Rig
    digest: str


class PaperKind(StrEnum):
    """What is kept of the later rooms, as JSON."""

    PLAN = "plan"
    LOOK = "look"
    MOUNT = "mount"
    PROOF = "proof"
    EVENT = "event"
    ENDING = "ending"
    SHOP = "shop"


@dataclass(frozen=True, slots=True)
class StoredPaper:
    """One state of a paper. ``key`` names it among its kind; ``subject`` says what it is about, matched without case.

    ``document`` is the JSON object that was kept, with its own schema number; its reader is the room that made it.
    """

    kind: PaperKind
    key: str
    subject: str
    revision: int
    recorded_at: str
    reason: str | None
    by: str | None
    document: dict[str, Any]
    digest: str


@dataclass(frozen=True, slots=True)
class StoredPhoto:
    """What is known of a photo in the book, without its bytes. It shows a pull or a mount, never both."""

    id: int
    pull_id: int | None
    mount: str | None
    caption: str
    recorded_at: str
    by: str | None
    width_px: int
    height_px: int
    sha256: str


@dataclass(frozen=True, slots=True)
class BookCheck:
    """What a look through the whole book found. ``head`` is the digest of the last revision: worth noting down.

    ``damages`` is empty for a sound book. ``remarks`` are worth knowing and no damage.
    """

    schema: str
    pulls: int
    revisions: int
    head: str
    damages: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing was found damaged."""
        return not self.damages
