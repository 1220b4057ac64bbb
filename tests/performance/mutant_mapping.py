"""Where the changes of a sample drawn from one commit stand in another: by their line, where it is still the same."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

from mutant_operators import Mutation, mutations_of


@dataclass(frozen=True)
class Mutant:
    """One change of the sample."""

    number: int
    file: str
    place: int
    mutation: Mutation


def moved(mutants: list[Mutant], drawn: Path, now: Path) -> dict[int, Mutant]:
    """Each mutant in the newer code, by number; without those whose line is no longer there word for word."""
    found: dict[int, Mutant] = {}
    for mutant in mutants:
        before, after = drawn / mutant.file, now / mutant.file
        if not after.exists():
            continue
        old, new = before.read_text(encoding="utf-8"), after.read_text(encoding="utf-8")
        place = _place_in(mutations_of(ast.parse(old)), mutations_of(ast.parse(new)), mutant, _same_lines(old, new))
        if place is not None:
            mutation = mutations_of(ast.parse(new))[place]
            found[mutant.number] = Mutant(mutant.number, mutant.file, place, mutation)
    return found


def _same_lines(old: str, new: str) -> dict[int, int]:
    """Lines of the old text by the number they have in the new one."""
    matcher = SequenceMatcher(None, old.splitlines(), new.splitlines(), autojunk=False)
    return {
        block.a + step + 1: block.b + step + 1 for block in matcher.get_matching_blocks() for step in range(block.size)
    }


def _place_in(old: list[Mutation], new: list[Mutation], mutant: Mutant, lines: dict[int, int]) -> int | None:
    """The same change of the same line, the second where it was the second of its kind there."""
    line = lines.get(mutant.mutation.line)
    if line is None:
        return None
    earlier = [_kind(each) for each in old[: mutant.place] if each.line == mutant.mutation.line]
    rank = earlier.count(_kind(mutant.mutation))
    alike = [
        place
        for place, each in enumerate(new)
        if each.line == line and _kind(each) == _kind(mutant.mutation)
    ]  # fmt: skip
    return alike[rank] if rank < len(alike) else None


def _kind(mutation: Mutation) -> tuple[str, str, str]:
    return mutation.operator, mutation.before, mutation.after
