"""From packages of several shops to what they say together; nothing is written but what is asked for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from jointlab.app import workflow
from jointlab.app.documents import Answer, Document
from jointlab.app.drawing_files import image_form
from jointlab.app.package_files import package_files
from jointlab.errors import AnalysisError, InputError, Problem
from jointlab.pool.gathering import gathered
from jointlab.pool.together import FieldCount, field_counts, pooled_combinations
from jointlab.pool.values import Contribution, Gathered, PooledCombination
from jointlab.publish.received import ReceivedPackage, received_package
from jointlab.record.vocabulary import Action

if TYPE_CHECKING:
    from jointlab.publish.pool_page import PooledPublication
    from jointlab.publish.typesetting import Paper

NEVER_A_PASS = (
    "Pooled results inform a plan or what to expect; alone they are never a pass: your glue, your wood and your hands "
    "are not in them until you pull your own."
)


@dataclass(frozen=True, slots=True)
class Pool:
    """What was put together, and what it says."""

    gathered: Gathered
    combinations: tuple[PooledCombination, ...]
    field: tuple[FieldCount, ...]
    confidence: float


@dataclass(frozen=True, slots=True)
class PoolWish:
    """What is asked of a pool; None takes any."""

    glue: str | None = None
    substrate: str | None = None
    preparation: str | None = None
    action: Action | None = None
    confidence: float = 0.95
    same: tuple[str, ...] = ()


def pool_packages(paths: Sequence[Path], wish: PoolWish | None = None) -> Pool:
    """Results of several shops together.

    Raises
    ------
    InputError
        A package is refused, with the reason; then none is taken.
    """
    asked = PoolWish() if wish is None else wish
    problems: list[Problem] = []
    taken: list[Contribution] = []
    for path in paths:
        try:
            taken.append(contribution_of(received_package(package_files(path), name=path.name)))
        except InputError as refusal:
            problems += [
                Problem(problem.message, problem.row, problem.column or path.name, problem.value, problem.allowed)
                for problem in refusal.problems
            ]
    if problems:
        raise InputError(problems, subject="pool")
    return pool_of(taken, asked)


def pool_of(contributions: Sequence[Contribution], wish: PoolWish) -> Pool:
    """What packages that were read say together."""
    put = gathered(_named_apart(contributions), same=_same_names(wish.same))
    combinations = tuple(
        each for each in pooled_combinations(put.shops, confidence=wish.confidence) if _is_asked(each, wish)
    )
    counts = field_counts(entry for shop in put.shops for entry in shop.field)
    return Pool(put, combinations, counts, wish.confidence)


def contribution_of(received: ReceivedPackage) -> Contribution:
    """A package as the pool takes it."""
    read = received.read
    return Contribution(
        received.name, received.dated_on, received.pulls, received.book, read.shop, received.field, received.stresses
    )


def _named_apart(contributions: Iterable[Contribution]) -> list[Contribution]:
    """Packages of one file name from different folders get numbers, so that decisions can tell them apart."""
    from dataclasses import replace

    seen: dict[str, int] = {}
    apart = []
    for each in contributions:
        seen[each.name] = seen.get(each.name, 0) + 1
        apart.append(each if seen[each.name] == 1 else replace(each, name=f"{each.name} ({seen[each.name]})"))
    return apart


def _same_names(pairs: Iterable[str]) -> Mapping[str, str]:
    names: dict[str, str] = {}
    for pair in pairs:
        name, found, target = pair.partition("=")
        if not (found and name.strip() and target.strip()):
            problem = Problem('must be "NAME=WHAT IS MEANT"', column="--same", value=pair)
            raise InputError(problem, subject="pool")
        names[name.strip()] = target.strip()
    return names


def _is_asked(each: PooledCombination, wish: PoolWish) -> bool:
    from jointlab.record.names import matched

    asked = (wish.glue, wish.substrate, wish.preparation)
    combination = each.combination
    names = (combination.glue, combination.substrate, combination.preparation)
    alike = all(word is None or matched(word) == matched(name) for word, name in zip(asked, names, strict=True))
    return alike and (wish.action is None or wish.action is each.action)


def plot_forest(pool: Pool, path: Path) -> Path:
    """Draw the forest of the combination most shops have pulled to an .svg or .png file.

    Raises
    ------
    InputError
        The file is of another kind, or cannot be written.
    AnalysisError
        No combination can be pooled.
    """
    from jointlab.publish.forest_figure import forest_figure

    form = image_form(path)
    drawable = [each for each in pool.combinations if each.pooled is not None]
    if not drawable:
        raise AnalysisError("No combination has pulls of shops enough to be drawn.")
    workflow.write_bytes(path, forest_figure(drawable[0], form=form))
    return path


class PooledShopPart(Document):
    """What one shop brings."""

    shop: str
    n: int
    n_broke: int
    batches: int
    median_mpa: float
    log_sd: float
    without_mpa: float | None


class PooledEffectPart(Document):
    """The median of shops by one estimator."""

    estimator: str
    median_mpa: float
    lower_mpa: float
    upper_mpa: float
    tau2: float


class PooledCombinationPart(Document):
    """One combination under one action over all shops."""

    glue: str
    substrate: str
    preparation: str
    action: str
    n: int
    shops: int
    why_not: str | None
    by_shop: tuple[PooledShopPart, ...]
    effects: tuple[PooledEffectPart, ...]
    q: float | None
    q_p_value: float | None
    i2: float | None
    next_joint_mpa: float | None
    confidence: float


class FieldCountPart(Document):
    """Mounts by size and heaviest catch, and how they ended."""

    size: str
    worst_catch: str
    mounts: int
    ends: dict[str, int]


class PoolDocument(Answer):
    """Several shops together."""

    shops: dict[str, tuple[str, ...]]
    decisions: tuple[dict[str, str], ...]
    combinations: tuple[PooledCombinationPart, ...]
    field: tuple[FieldCountPart, ...]
    caution: str


def pool_document(pool: Pool) -> PoolDocument:
    """The pool as JSON."""
    return PoolDocument(
        shops={shop.name: shop.packages for shop in pool.gathered.shops},
        decisions=tuple({"kind": str(ruling.kind), "text": ruling.text} for ruling in pool.gathered.rulings),
        combinations=tuple(_combination_part(each, pool.confidence) for each in pool.combinations),
        field=tuple(
            FieldCountPart(size=each.size, worst_catch=each.worst_catch, mounts=each.mounts, ends=dict(each.ends))
            for each in pool.field
        ),
        caution=NEVER_A_PASS,
    )


def _combination_part(each: PooledCombination, confidence: float) -> PooledCombinationPart:
    pooled, combination = each.pooled, each.combination
    without = {} if pooled is None else {left.shop: left.median_mpa for left in pooled.without}
    return PooledCombinationPart(
        glue=combination.glue,
        substrate=combination.substrate,
        preparation=combination.preparation,
        action=str(each.action),
        n=each.pulls,
        shops=len(each.seen),
        why_not=each.why_not,
        by_shop=()
        if pooled is None
        else tuple(
            PooledShopPart(
                shop=shop.shop,
                n=shop.n,
                n_broke=shop.n_broke,
                batches=shop.glue_ups,
                median_mpa=shop.median_mpa,
                log_sd=shop.log_sd,
                without_mpa=without.get(shop.shop),
            )
            for shop in pooled.shops
        ),
        effects=()
        if pooled is None
        else tuple(
            PooledEffectPart(
                estimator=str(effect.between),
                median_mpa=math.exp(effect.mean),
                lower_mpa=math.exp(effect.lower),
                upper_mpa=math.exp(effect.upper),
                tau2=effect.tau2,
            )
            for effect in pooled.effects
        ),
        q=None if pooled is None else pooled.heterogeneity.q,
        q_p_value=None if pooled is None else pooled.heterogeneity.p_value,
        i2=None if pooled is None else pooled.heterogeneity.i2,
        next_joint_mpa=None if pooled is None else pooled.next_joint_mpa,
        confidence=confidence,
    )


TITLE = "Results of several shops together"
PAGE, ANSWERS = "index.html", "pooled.json"


def write_pool(pool: Pool, directory: Path, *, dated_on: str | None = None) -> Path:
    """Write the page of a pool, its forests and its numbers as JSON to a new folder; gives the page.

    Raises
    ------
    InputError
        The folder holds something, or cannot be written.
    """
    from jointlab.app.folders import refuse_occupied, write_folder

    refuse_occupied(directory, replacing=False)
    write_folder(directory, pool_files(pool, dated_on=dated_on))
    return directory / PAGE


def write_wall(pool: Pool, path: Path, *, paper: Paper, dated_on: str | None = None) -> Path:
    """Write the sheet for a club's wall, a PDF of one page; nobody is named on it.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    from jointlab.publish.wall_sheet import wall_sheet

    workflow.write_bytes(path, wall_sheet(_published(pool, dated_on), paper=paper))
    return path


def _published(pool: Pool, dated_on: str | None) -> PooledPublication:
    from jointlab import __version__
    from jointlab.app.publishing import today
    from jointlab.publish.pool_page import PooledPublication

    return PooledPublication(
        TITLE, today() if dated_on is None else dated_on, __version__, pool.gathered, pool.combinations, pool.field,
        pool.confidence, NEVER_A_PASS,
    )  # fmt: skip


def pool_files(pool: Pool, *, dated_on: str | None = None) -> dict[str, bytes]:
    """Every file of a pool's page, by its relative name."""
    from jointlab.publish.drawing import ImageForm
    from jointlab.publish.forest_figure import forest_figure
    from jointlab.publish.pool_page import pool_page

    files = {PAGE: pool_page(_published(pool, dated_on)).encode("utf-8")}
    for number, each in enumerate(pool.combinations, start=1):
        if each.pooled is not None:
            files |= {f"figures/forest-{number}.{form}": forest_figure(each, form=form) for form in ImageForm}
    return files | {ANSWERS: (pool_document(pool).model_dump_json(indent=2) + "\n").encode("utf-8")}
