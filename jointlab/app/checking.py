"""A publication checked: every number worked out again from its own pulls, and held against what it says."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jointlab import __version__
from jointlab.app import publishing, workflow
from jointlab.app.documents import PublicationCheckDocument
from jointlab.app.folders import folder_files
from jointlab.app.rule_changes import earlier_rules, reasons_since
from jointlab.errors import InputError, JointlabError
from jointlab.publish.disclosure import Private
from jointlab.publish.field_file import FIELD_FILE, field_entries
from jointlab.publish.package import DESCRIPTOR
from jointlab.publish.package_reading import MountPart, ReadPackage, package_read
from jointlab.publish.published_files import PAGE
from jointlab.publish.typesetting import Paper

if TYPE_CHECKING:
    from jointlab.verdict.spending import Look

TABLES = ("pulls.csv", "strengths.csv", "bounds.csv", "families.csv")
NUMBERS = ("verdict", "relaxed", "criteria", "margin_lower", "margin_upper", "margin_required", "governing_link",
           "governing_case", "stands_n", "links", "factors")  # fmt: skip
"""What of a verdict is worked out again; its sentences follow from these."""

RELATIVE = 1e-9
"""Numbers this close are one number, rounded otherwise by another machine."""

SHOWN_AT_MOST = 20
_DRAWING = re.compile(r"<svg.*?</svg>", re.DOTALL)


@dataclass(frozen=True, slots=True)
class PublicationCheck:
    """What a check found.

    Parameters
    ----------
    differences
        What is not as the pulls give it, or not the file that was described.
    changed
        Numbers another version of the program gave, with the rule that made each: no fault of the shop.
    remarks
        What could not be held against anything.
    """

    differences: tuple[str, ...]
    changed: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether nothing differs."""
        return not self.differences


def check_publication(directory: Path, place: str | Path | None = None) -> PublicationCheck:
    """Work every number of a published folder out again from its pulls, and tell what differs.

    Parameters
    ----------
    directory
        Folder of the publication.
    place
        A shop book, to be asked whether the publication came from it; None: no book is asked.

    Raises
    ------
    InputError
        The folder is none, or holds no publication.
    """
    files = folder_files(directory)
    try:
        package = package_read(files, name=directory.name)
    except InputError as error:
        if DESCRIPTOR not in files:
            raise
        return PublicationCheck(tuple(str(problem) for problem in error.problems))
    chain = tuple(_chain_remarks(package, place))
    try:
        again = _made_again(package)
    except JointlabError as error:
        return PublicationCheck((f"it cannot be worked out again: {error}",), (), chain)
    found = [*_table_differences(package, again), *_verdict_differences(package, again)]
    made = package.descriptor.jointlab.program_version
    rules = earlier_rules(_rows_of(package.files.get("strengths.csv", b"")))
    if made != __version__ or rules:
        remark = f"made by jointlab {made}, checked by {__version__}: the page, drawn otherwise, was not compared"
        why = reasons_since(rules) if found else ()
        return PublicationCheck((), (*why, *_shortened(found)), (*chain, remark))
    drawn, remarks = _drawn_differences(package, again)
    return PublicationCheck(tuple(_shortened([*found, *drawn])), (), (*chain, *remarks))


def _chain_remarks(package: ReadPackage, place: str | Path | None) -> Iterator[str]:
    """What a book says to the mark of its chain: only the book itself can tell whether it holds that entry."""
    chain = package.descriptor.jointlab.chain
    if place is None:
        return
    if chain is None:
        yield "the publication carries no mark of a book"
        return
    with workflow.open_book(place) as book:
        held = book.has_entry(chain)
    yield (
        f"made when {chain[:16]} was the last entry of this book, which still holds it"
        if held
        else f"made from another book, or this one was set back: it holds no entry {chain[:16]}"
    )


def check_document(found: PublicationCheck) -> PublicationCheckDocument:
    """The check as JSON."""
    return PublicationCheckDocument(
        sound=found.sound, differences=found.differences, changed=found.changed, remarks=found.remarks
    )


def _shortened(found: list[str]) -> Iterator[str]:
    yield from found[:SHOWN_AT_MOST]
    if len(found) > SHOWN_AT_MOST:
        yield f"and {len(found) - SHOWN_AT_MOST} more"


def _made_again(package: ReadPackage) -> dict[str, bytes]:
    made, descriptor = package.descriptor.jointlab, package.descriptor
    wish = publishing.Wish(
        title=descriptor.title,
        question=made.question,
        shop=package.shop,
        provenance=made.provenance,
        dated_on=descriptor.created[:10],
        disclosing=frozenset(Private(word) for word in made.disclosed if word in set(Private)),
        envelopes=made.envelopes,
        licence=descriptor.licenses[0].name,
        paper=Paper(made.paper),
    )
    asked = [_asked_again(package, mount) for mount in made.mounts]
    photos = {name.removeprefix("photos/"): package.files[name] for name in package.files if name.startswith("photos/")}
    table = package.files.get(FIELD_FILE)
    field = () if table is None else field_entries(table, name=FIELD_FILE)
    return publishing.publication_files(
        package.pulls, wish, asked, chain=made.chain, mark=made.book, photos=photos, field=field
    )


def _asked_again(package: ReadPackage, mount: MountPart) -> publishing.Asked:
    from jointlab.mount.document import document_of
    from jointlab.mount.setup_of import setup_of

    described = None if mount.described is None else package.files.get(mount.described)
    if described is None:
        raise InputError([], subject=f"the mount {mount.name}, which comes without its description")
    setup = setup_of(document_of(described.decode("utf-8-sig"), name=f"{mount.name}.toml"))
    batches = frozenset(mount.glue_ups)
    decision = workflow.decision_among(
        setup, package.pulls, name=mount.name, look=_look_of(mount), glue_ups=batches, proofed=mount.proofed
    )
    return publishing.Asked(decision, described)


def _look_of(mount: MountPart) -> Look | None:
    from jointlab.verdict.spending import Look

    return None if mount.look is None else Look(**mount.look)


def _table_differences(package: ReadPackage, again: Mapping[str, bytes]) -> Iterator[str]:
    for name in TABLES:
        if name not in package.files:
            yield f"{name} is not there"
            continue
        said, given = _rows_of(package.files[name]), _rows_of(again[name])
        if len(said) != len(given):
            yield f"{name} has {len(said)} rows, the pulls give {len(given)}"
        for number, (left, right) in enumerate(zip(said, given, strict=False), start=2):
            for column in dict.fromkeys([*left, *right]):
                if not _one_number(left.get(column, ""), right.get(column, "")):
                    where = " ".join(filter(None, (right.get("glue"), right.get("substrate"), right.get("method"))))
                    yield (
                        f"{name} row {number}, {column} ({where}): it says {left.get(column) or 'nothing'}, "
                        f"the pulls give {right.get(column) or 'nothing'}"
                    )


def _rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8"), newline="")))


def _one_number(left: str, right: str) -> bool:
    if left == right:
        return True
    try:
        one, other = float(left), float(right)
    except ValueError:
        return False
    return abs(one - other) <= RELATIVE * max(abs(one), abs(other))


def _verdict_differences(package: ReadPackage, again: Mapping[str, bytes]) -> Iterator[str]:
    for mount in package.descriptor.jointlab.mounts:
        said, given = (_json_of(files.get(mount.verdict)) for files in (package.files, again))
        for key in NUMBERS:
            for place, left, right in _leaves(key, said.get(key), given.get(key)):
                if not _one_number(str(left), str(right)):
                    yield f"{mount.verdict}, {place}: it says {left}, the pulls give {right}"


def _json_of(content: bytes | None) -> dict[str, Any]:
    try:
        read = json.loads(content or b"")
    except ValueError:
        return {}
    return read if isinstance(read, dict) else {}


def _leaves(place: str, left: Any, right: Any) -> Iterator[tuple[str, Any, Any]]:
    if isinstance(left, dict) and isinstance(right, dict):
        for key in dict.fromkeys([*left, *right]):
            yield from _leaves(f"{place}.{key}", left.get(key), right.get(key))
    elif isinstance(left, list) and isinstance(right, list) and len(left) == len(right):
        for number, (one, other) in enumerate(zip(left, right, strict=True), start=1):
            yield from _leaves(f"{place} {number}", one, other)
    else:
        yield place, left, right


def _drawn_differences(package: ReadPackage, again: Mapping[str, bytes]) -> tuple[list[str], tuple[str, ...]]:
    """Page, PDF and figures against those made again: byte for byte where the same libraries draw them."""
    used = package.descriptor.jointlab.libraries
    same = all(used.get(name) == version(name) for name in publishing.DRAWN_WITH)
    rest = [name for name in again if name not in TABLES and name != DESCRIPTOR and not name.startswith("mounts/")]
    if same:
        return [f"{name} is not what the pulls give" for name in rest if package.files.get(name) != again[name]], ()
    words = [_DRAWING.sub("", files[PAGE].decode("utf-8")) for files in (package.files, again) if PAGE in files]
    found = [] if len(words) == 2 and words[0] == words[1] else [f"{PAGE} does not say what the pulls give"]
    return found, ("other versions of the drawing libraries: PDF and figures were not compared",)
