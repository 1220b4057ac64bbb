"""The sentence a user sees first."""

from __future__ import annotations

import math
from collections.abc import Mapping

from jointlab.mount.demand import Case
from jointlab.mount.loads import CLASS_FORCE_N
from jointlab.mount.setup import CatchClass
from jointlab.verdict.values import Outcome, Verdict

_OUTCOME_TOLD = {
    Outcome.PASS: "margin met under these assumptions",
    Outcome.FAIL: "even the most the tests allow misses the margin",
    Outcome.UNDECIDED: "what is known does not settle it",
}


def sentence_of(verdict: Verdict) -> str:
    """The plain sentence seen first: what grab at the far end it stands, which link governs, and the verdict."""
    return f"{grab_of(verdict)} {_governs_told(verdict)}Verdict: {outcome_told(verdict)}."


def grab_of(verdict: Verdict) -> str:
    """What grab this mount stands at the far end, beside the classes of catch its verdict was made with."""
    met = verdict.margin_lower is not None and verdict.margin_lower >= verdict.margin_required
    return grab_told(verdict.stands_n, kept=verdict.criteria.catch if met else None, forces=class_forces_n(verdict))


def grab_line(verdict: Verdict) -> str:
    """The grab stood and the classes of catch in the order of their force, as a line of text can draw it [N]."""
    places = [(force_n, 0, f"{catch} {force_n:g}") for catch, force_n in class_forces_n(verdict).items()]
    if verdict.stands_n is None:
        told = " < ".join(text for *_, text in sorted(places))
        return f"Grab at the far end, N: {told}; this mount: not known"
    own = f"{rounded_down(verdict.stands_n):g}" if verdict.stands_n > 0.0 else "none"
    # a catch of exactly the force stood is stood, so it comes before the mount
    told = " < ".join(text for *_, text in sorted([*places, (verdict.stands_n, 1, f"THIS MOUNT {own}")]))
    return f"Grab at the far end, N: {told}"


def class_forces_n(verdict: Verdict) -> dict[CatchClass, float]:
    """The force of each class of catch this verdict was made with [N]: its own where it was set by hand."""
    by_hand = {factor.name: factor.value for factor in verdict.factors if factor.overridden}
    return {catch: by_hand.get(f"{catch}_n", force_n) for catch, force_n in CLASS_FORCE_N.items()}


def outcome_told(verdict: Verdict) -> str:
    """The verdict in a phrase, with what was relaxed and what was set by hand when anything was."""
    relaxed = f" (criteria relaxed: {'; '.join(verdict.criteria.relaxed)})" if verdict.relaxed else ""
    by_hand = [f"{factor.name} {factor.value:g}" for factor in verdict.factors if factor.overridden]
    changed = f" (set by hand: {', '.join(by_hand)})" if by_hand else ""
    return f"{verdict.verdict}{relaxed}{changed}: {_OUTCOME_TOLD[verdict.verdict]}"


def grab_told(
    stands_n: float | None, *, kept: CatchClass | None = None, forces: Mapping[CatchClass, float] = CLASS_FORCE_N
) -> str:
    """The largest grab stood, set beside the light, firm and severe catch.

    Parameters
    ----------
    stands_n
        Catch force stood at the required margin [N], whether the lathe could deliver it or not.
    kept
        The class whose catch keeps the margin as this lathe delivers it; None when none does. Where the force stood is
        less than that class at its full force, the lathe is what keeps the catch smaller.
    forces
        Force of each class [N].
    """
    if stands_n is None:
        return "What grab at the far end it stands is not known: no strength can be relied on yet."
    if stands_n <= 0.0:
        return "It stands no grab at the far end: weight and a steady cut alone already ask for more than is left."
    stood = [f"a {name} catch ({forces[name]:g} N)" for name in CatchClass if forces[name] <= stands_n]
    missed = [f"a {name} one ({forces[name]:g} N)" for name in CatchClass if forces[name] > stands_n]
    told = [f"no less than {stood[-1]}" if stood else "", f"less than {missed[0]}" if missed else ""]
    small_lathe = kept is not None and forces[kept] > stands_n
    tail = " This lathe does not bring it to that." if small_lathe else ""
    return f"It stands a grab of {rounded_down(stands_n):g} N at the far end: {', '.join(filter(None, told))}.{tail}"


def rounded_down(value: float) -> float:
    """A positive value to three digits, never up: a promise must not gain by rounding."""
    step = 10.0 ** (math.floor(math.log10(value)) - 2)
    steps = math.floor(value / step + 1e-9)
    return float(f"{steps * step:.12g}")


def link_told(link: str) -> str:
    """A link's name in a sentence."""
    kind, _, number = link.rpartition("_")
    name = f"{kind} {number}" if number.isdigit() else link
    return f"the {name.replace('_', ' ')}" if link != "screws" else "the screws"


def case_told(case: Case) -> str:
    """A case's name in a sentence."""
    named = {Case.REST: "at rest", Case.SPIN: "spinning", Case.CUT: "under a steady cut"}
    return named.get(case) or f"in a {case.removeprefix('catch_')} catch"


def margin_told(margin: float) -> str:
    """A margin to two digits behind the point, rounded down."""
    return f"{math.floor(margin * 100.0 + 1e-9) / 100.0:.2f}"


def glue_ups_told(count: int) -> str:
    """A number of glue-ups in a sentence."""
    return "one glue-up" if count == 1 else f"{count} glue-ups"


def _governs_told(verdict: Verdict) -> str:
    if verdict.governing_link is None or verdict.governing_case is None or verdict.margin_lower is None:
        return ""
    link, case = link_told(verdict.governing_link), case_told(verdict.governing_case)
    governs = "govern" if verdict.governing_link == "screws" else "governs"
    margin = f"margin {margin_told(verdict.margin_lower)}, required {verdict.margin_required:g}"
    return f"{link[0].upper()}{link[1:]} {governs}, {case} ({margin}). "
