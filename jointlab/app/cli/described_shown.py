"""Families, thresholds and links on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jointlab.app.describing import Described
    from jointlab.strength.values import StrengthFit


def show_described(described: Sequence[Described], *, families: bool, links: bool) -> None:
    """What was asked of the two."""
    if families:
        show_families(described)
    if links:
        show_links(described)


def show_families(described: Sequence[Described]) -> None:
    """The fitted families, and a Weibull with a threshold where one can be told."""
    for told in described:
        print(f"\n{told.combination}, {told.action}: families (for description, best by AICc first)")
        for fitted in sorted(told.families, key=_by_aicc):
            print(f"  {_family_line(fitted)}")
        if isinstance(told.threshold, str):
            print(f"  weibull with a threshold: none, {told.threshold}")
        else:
            found = told.threshold
            print(
                f"  weibull with a threshold: threshold {found.threshold_mpa:.4g} MPa, shape {found.shape:.4g}, scale "
                f"{found.scale_mpa:.4g} MPa, log-likelihood {found.log_likelihood:.2f}; no bound is taken from it"
            )


def show_links(described: Sequence[Described]) -> None:
    """Each link with the joints that let go elsewhere as held, and the chain against the joint's own fit."""
    for told in described:
        print(f"\n{told.combination}, {told.action}: links (for diagnosis; the verdict takes the joint as one chain)")
        if told.chain is None:
            print("  No joint broke.")
            continue
        for link in told.chain.links:
            print(f"  {link.name}: {link.broke} broke; {_family_line(link.fit)}")
        print(f"  {told.chain.sentence}")


def _by_aicc(fitted: StrengthFit) -> float:
    return float("inf") if fitted.aicc is None else fitted.aicc


def _family_line(fitted: StrengthFit) -> str:
    if fitted.ill is not None:
        return f"{fitted.family}: none, {fitted.ill}"
    numbers = ", ".join(f"{name} {value:.4g}" for name, value in fitted.parameters)
    return f"{fitted.family}: {numbers}; log-likelihood {fitted.log_likelihood:.2f}"
