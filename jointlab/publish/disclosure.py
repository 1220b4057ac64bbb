"""What a shop lets others see: its name and its notes stay private unless it chooses otherwise."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from enum import StrEnum

from jointlab.publish.publication import Publication, PublishedPull


class Private(StrEnum):
    """What is left out of a publication unless the shop discloses it."""

    SHOP = "shop"
    NOTES = "notes"
    PHOTOS = "photos"


def disclosed(publication: Publication, *, chosen: Collection[Private] = ()) -> Publication:
    """The publication without what is private and not chosen.

    The cause of an exclusion is always kept: an excluded pull without its cause could not be judged.
    """
    shown = publication if Private.SHOP in chosen else replace(publication, shop=None)
    if Private.NOTES in chosen:
        return shown
    return replace(shown, pulls=tuple(_without_notes(published) for published in shown.pulls))


def _without_notes(published: PublishedPull) -> PublishedPull:
    if published.pull.notes is None:
        return published
    return replace(published, pull=replace(published.pull, notes=None))
