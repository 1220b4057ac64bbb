"""Words and figures of a page: how numbers are rounded, how links, cases and answers are called."""

from __future__ import annotations

from jointlab.mount.assumptions import ASSUMPTIONS
from jointlab.mount.demand import Case
from jointlab.record.joint import Disc, Outline, Rectangle, Ring
from jointlab.strength.values import Method
from jointlab.units import STANDARD_GRAVITY_M_S2
from jointlab.verdict.sentence import rounded_down
from jointlab.verdict.values import Basis, Outcome

CASE_WORDS = {
    Case.REST: "at rest",
    Case.SPIN: "spinning",
    Case.CUT: "cutting",
    Case.CATCH_LIGHT: "light catch",
    Case.CATCH_FIRM: "firm catch",
    Case.CATCH_SEVERE: "severe catch",
}

ANSWER_WORDS = {
    Outcome.PASS: "Margin met under these assumptions",
    Outcome.FAIL: "Margin not met",
    Outcome.UNDECIDED: "Undecided",
}

BASIS_WORDS = {Basis.TESTS: "these pulls", Basis.SOURCE: "a published source", Basis.UNRATED: "nothing: not rated"}

METHOD_WORDS = {
    Method.NONCENTRAL_T: "noncentral t",
    Method.WEIBULL_PIVOT: "Weibull pivot",
    Method.LIKELIHOOD_RATIO: "likelihood ratio",
    Method.HANSON_KOOPMANS: "smallest and a larger strength (Hanson-Koopmans)",
    Method.KNOWN_RATIO: "glue-ups counted (known ratio)",
    Method.ORDER_STATISTIC: "order of the strengths",
    Method.SUCCESS_RUN: "all held (success run)",
    Method.WORKING: "working bound",
}

_LINKS = {
    "blank_surface": "surface of the blank",
    "glue_line": "glue line",
    "paper": "paper",
    "block": "waste block",
    "screws": "screws",
}


def link_words(link: str) -> str:
    """A link as the page calls it."""
    if link.startswith("blank_joint_"):
        return f"joint {link.removeprefix('blank_joint_')} inside the blank"
    return _LINKS.get(link, link.replace("_", " "))


def factor_words(name: str) -> str:
    """A factor, or an assumption of the loads, as the page calls it."""
    assumed = next((each.name for each in ASSUMPTIONS if each.key == name), None)
    if assumed is not None:
        return assumed
    link, _, factor = name.rpartition(".")
    told = factor.replace("_", ", ")
    return f"{link_words(link)}: {told}" if link else told


def rounded(value: float | None, *, digits: int = 3) -> str:
    """A number to ``digits`` significant digits, in plain decimals; a dash where there is none."""
    if value is None:
        return "\N{EN DASH}"
    if value == 0.0:
        return "0"
    text = f"{value:.{digits}g}"
    if "e" not in text:
        return text
    return f"{float(text):.0f}" if abs(value) >= 1.0 else f"{float(text):.6f}".rstrip("0")


def force_words(force_n: float) -> str:
    """A force stood, as a reader can feel it: newtons and kilogram-force, neither rounded up."""
    return f"{rounded_down(force_n):g} N ({rounded_down(force_n / STANDARD_GRAVITY_M_S2):g} kgf)"


def margin_words(margin: float | None) -> str:
    """A lower margin, never rounded up."""
    return rounded(margin) if not margin else f"{rounded_down(margin):g}"


def percent(share: float) -> str:
    """A share between 0 and 1 as a percentage, without needless digits."""
    return f"{round(100.0 * share, 6):g} %"


def counted(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def listed(words: list[str]) -> str:
    """Words as a reader lists them: a, b and c."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def outline_words(outline: Outline) -> str:
    """An outline with its sizes."""
    match outline:
        case Disc(diameter_mm):
            return f"disc of {rounded(diameter_mm)} mm"
        case Ring(diameter_mm, hole_mm):
            return f"ring of {rounded(diameter_mm)} mm around a hole of {rounded(hole_mm)} mm"
        case Rectangle(width_mm, depth_mm):
            return f"rectangle of {rounded(width_mm)} by {rounded(depth_mm)} mm"
