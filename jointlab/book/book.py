"""The shop book: every pull ever recorded, each correction beside what stood there before.

What is not needed to record and list pulls is imported where it is used, so that a pull is stored soon after the start.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import repeat
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from sqlalchemy import Connection, Engine

from jointlab.book import reading, storing
from jointlab.book.engine import address_of, file_of, reading_at_one_moment, shown, writing
from jointlab.book.failures import told_plainly
from jointlab.book.opening import opened
from jointlab.book.stored import (
    EVERY_PULL,
    BookCheck,
    ImportReceipt,
    PaperKind,
    PullRevision,
    PullSelection,
    RigRevision,
    StoredCombination,
    StoredPaper,
    StoredPhoto,
    StoredPull,
    StoredRig,
)
from jointlab.record.pull import Pull

if TYPE_CHECKING:
    from jointlab.book import staging
    from jointlab.record.photo import Photo
    from jointlab.record.rig import Rig


def system_clock() -> datetime:
    """The computer's clock, in UTC."""
    return datetime.now(UTC)


class Book:
    """A shop book, open for as long as the ``with`` block lasts; made by ``Book.open``.

    Whatever a method acknowledges by returning is on the disk. Nothing stored is ever overwritten. One book may be
    used from several threads, and one file from several processes.
    """

    def __init__(self, engine: Engine, *, place: str, file: Path | None, clock: Callable[[], datetime]) -> None:
        self.place = place
        self._engine = engine
        self._file = file
        self._clock = clock

    @classmethod
    def open(cls, place: str | Path, *, clock: Callable[[], datetime] = system_clock) -> Self:
        """The book at a path or URL, made if there is none yet, brought to the present schema if it is older.

        Parameters
        ----------
        place
            Path of an SQLite file, or a URL: ``sqlite:///...`` or ``postgresql://...``.
        clock
            Gives the moment that goes into the history.

        Raises
        ------
        BookError
            The folder is missing; the file is no book, damaged, read-only or locked; the book was written by a newer
            jointlab. It is left as it was.
        """
        address = address_of(place)
        engine = opened(address)
        return cls(engine, place=shown(address), file=file_of(address), clock=clock)

    def close(self) -> None:
        """Let the book go. Everything acknowledged is stored already."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, failure: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def record(self, pull: Pull, *, by: str | None = None) -> StoredPull:
        """Store one pull; when this returns, it is on the disk.

        Raises
        ------
        InputError
            The batch and specimen are in the book already, or a limit refuses a value.
        BookError
            The book cannot be written; nothing was stored.
        """
        with self._writing() as connection:
            return storing.record(connection, pull, at=self._now(), by=by)

    def import_pulls(
        self, pulls: Iterable[Pull], *, rows: Iterable[int] | None = None, by: str | None = None
    ) -> ImportReceipt:
        """Store all pulls of a file, or none. Rows equal to what was first recorded are skipped.

        Parameters
        ----------
        pulls
            May be read as it is stored: what it raises undoes the whole import.
        rows
            Spreadsheet row of each pull, for the messages.

        Raises
        ------
        InputError
            With one problem for each row that differs from the book or repeats another row.
        BookError
            The book cannot be written; nothing was stored.
        """
        pairs = zip(repeat(None), pulls, strict=False) if rows is None else zip(rows, pulls, strict=True)
        return self.import_numbered(pairs, by=by)

    def import_numbered(self, pulls: Iterable[staging.Numbered], *, by: str | None = None) -> ImportReceipt:
        """``import_pulls`` of pulls each with its row, read from the source one after another."""
        with self.staged(pulls) as aside:
            return self.import_staged(aside, by=by)

    @contextmanager
    def staged(self, pulls: Iterable[staging.Numbered]) -> Iterator[staging.Staged]:
        """Pulls read to their end and set aside in a temporary file; the book is not held meanwhile.

        Raises
        ------
        BookError
            There is no room for temporary files.
        """
        from jointlab.book import staging

        with told_plainly(self.place), staging.staged(pulls) as aside:
            yield aside

    def import_staged(self, aside: staging.Staged, *, by: str | None = None) -> ImportReceipt:
        """``import_pulls`` of pulls that were set aside: others wait only while these are stored.

        Raises
        ------
        InputError
            With every problem of their source and of their rows with the book.
        BookError
            The book cannot be written; nothing was stored.
        """
        from jointlab.book import importing

        if not aside.sound:
            return self.compare_staged(aside)
        with self._writing() as connection:
            return importing.import_pulls(connection, aside, at=self._now(), by=by)

    def compare_staged(self, aside: staging.Staged) -> ImportReceipt:
        """What ``import_staged`` would store and skip as the book stands; nothing is stored.

        Raises
        ------
        InputError
            As ``import_staged``.
        """
        from jointlab.book import importing

        with self._reading() as connection:
            return importing.compare(connection, aside)

    def correct(
        self, pull_id: int, pull: Pull, *, reason: str, by: str | None = None, seen_revision: int | None = None
    ) -> StoredPull:
        """Store what a pull should have said as its next revision; what it said stays in the history.

        Parameters
        ----------
        seen_revision
            The revision the correction was made from; given, a correction that came in between is not lost.

        Raises
        ------
        UnknownEntryError
            There is no such pull.
        InputError
            No reason is given, nothing changes, or batch and specimen belong to another pull.
        BookError
            The pull was corrected meanwhile, or the book cannot be written.
        """
        with self._writing() as connection:
            return storing.correct(
                connection, pull_id, pull, reason=reason, at=self._now(), by=by, seen_revision=seen_revision
            )

    def exclude(self, pull_id: int, *, cause: str, by: str | None = None) -> StoredPull:
        """Keep and show a pull, but use it no more, for a stated cause.

        Raises
        ------
        UnknownEntryError
            There is no such pull.
        InputError
            No cause is given, or it is excluded for that cause already.
        """
        with self._writing() as connection:
            return storing.exclude(connection, pull_id, cause=cause, at=self._now(), by=by)

    def pull(self, pull_id: int) -> StoredPull:
        """One pull as it stands now.

        Raises
        ------
        UnknownEntryError
            There is no such pull.
        """
        with self._reading() as connection:
            return reading.stored_pull(connection, pull_id)

    def last_pull(self) -> StoredPull | None:
        """The pull stored last, as it stands now; None while there is none."""
        with self._reading() as connection:
            return reading.last_pull(connection)

    def pulls(self, selection: PullSelection = EVERY_PULL) -> tuple[StoredPull, ...]:
        """The pulls of a selection as they stand now, excluded ones included, in the order of their numbers."""
        with self._reading() as connection:
            return tuple(reading.selected_pulls(connection, selection))

    def each_pull(self, selection: PullSelection = EVERY_PULL) -> Iterator[StoredPull]:
        """``pulls`` one after another, all of one moment, without ever holding them all.

        Until the last was taken, or the iterator is let go, the book cannot give up what was written over meanwhile.
        """
        with self._reading() as connection:
            yield from reading.selected_pulls(connection, selection)

    @contextmanager
    def table(self, selection: PullSelection = EVERY_PULL) -> Iterator[tuple[tuple[str, ...], Iterator[StoredPull]]]:
        """The columns that any pull of a selection fills, and its pulls one after another, all of one moment."""
        with self._reading() as connection:
            columns = reading.filled_columns(connection, selection)
            yield columns, reading.selected_pulls(connection, selection)

    def combinations(self) -> tuple[StoredCombination, ...]:
        """Every glue, substrate, preparation and action in the book, sorted so."""
        with self._reading() as connection:
            return reading.combinations(connection)

    def history(self, pull_id: int) -> tuple[PullRevision, ...]:
        """Every revision of a pull, oldest first.

        Raises
        ------
        UnknownEntryError
            There is no such pull.
        """
        with self._reading() as connection:
            return reading.history(connection, pull_id)

    def keep_rig(self, rig: Rig, *, reason: str | None = None, by: str | None = None) -> StoredRig:
        """Keep a new rig, or the next state of one known by that name; pulls keep the load they were stored with.

        Raises
        ------
        InputError
            The rig is known and no reason is given, nothing changes, or a limit refuses a value.
        """
        from jointlab.book import rigs

        with self._writing() as connection:
            return rigs.keep_rig(connection, rig, reason=reason, at=self._now(), by=by)

    def rigs(self) -> tuple[StoredRig, ...]:
        """Every rig as it is kept now, in the order of their names."""
        from jointlab.book import rigs

        with self._reading() as connection:
            return rigs.stored_rigs(connection)

    def rig(self, name: str) -> StoredRig:
        """The rig of this name, matched without case.

        Raises
        ------
        UnknownEntryError
            There is none; the nearest names are told.
        """
        from jointlab.book import rigs

        with self._reading() as connection:
            return rigs.stored_rig(connection, name)

    def rig_history(self, name: str) -> tuple[RigRevision, ...]:
        """Every state of a rig, oldest first.

        Raises
        ------
        UnknownEntryError
            There is none of that name.
        """
        from jointlab.book import rigs

        with self._reading() as connection:
            return rigs.rig_history(connection, name)

    def keep_paper(
        self,
        kind: PaperKind,
        document: Mapping[str, object],
        *,
        key: str | None = None,
        subject: str = "",
        reason: str | None = None,
        by: str | None = None,
    ) -> StoredPaper:
        """Keep a plan, a verdict, a mount or a step of its course; when this returns, it is on the disk.

        Parameters
        ----------
        document
            A JSON object with its own ``schema`` number.
        key
            Names it among its kind; without one the book gives the next number. A known key is its next state.
        subject
            What it is about: it is found by that, matched without case.

        Raises
        ------
        InputError
            The key is known and no reason is given, or nothing changes.
        ValueError
            The document holds a number that is not finite.
        """
        from jointlab.book import papers

        with self._writing() as connection:
            return papers.keep_paper(
                connection, kind, document, key=key, subject=subject, reason=reason, at=self._now(), by=by
            )

    def papers(self, kind: PaperKind, *, subject: str | None = None) -> tuple[StoredPaper, ...]:
        """Every paper of a kind as it stands now, in the order in which they were first kept."""
        from jointlab.book import papers

        with self._reading() as connection:
            return papers.stored_papers(connection, kind, subject=subject)

    def paper(self, kind: PaperKind, key: str) -> StoredPaper:
        """The paper of that key as it stands now, matched without case.

        Raises
        ------
        UnknownEntryError
            There is none; the nearest keys are told.
        """
        from jointlab.book import papers

        with self._reading() as connection:
            return papers.stored_paper(connection, kind, key)

    def paper_history(self, kind: PaperKind, key: str) -> tuple[StoredPaper, ...]:
        """Every state of a paper, oldest first.

        Raises
        ------
        UnknownEntryError
            There is none of that key.
        """
        from jointlab.book import papers

        with self._reading() as connection:
            return papers.paper_history(connection, kind, key)

    def keep_photo(
        self,
        photo: Photo,
        *,
        pull_id: int | None = None,
        mount: str | None = None,
        caption: str = "",
        by: str | None = None,
    ) -> StoredPhoto:
        """Keep a photo of one pull or of one mount; there may be several of each.

        Raises
        ------
        UnknownEntryError
            There is no such pull or mount.
        ValueError
            Neither a pull nor a mount is named, or both.
        """
        from jointlab.book import photos

        with self._writing() as connection:
            return photos.keep_photo(
                connection, photo, pull_id=pull_id, mount=mount, caption=caption, at=self._now(), by=by
            )

    def photos(self, *, pull_id: int | None = None, mount: str | None = None) -> tuple[StoredPhoto, ...]:
        """Photos of a pull, of a mount, or all of them, oldest first, without their bytes."""
        from jointlab.book import photos

        with self._reading() as connection:
            return photos.stored_photos(connection, pull_id=pull_id, mount=mount)

    def photo_bytes(self, photo_id: int) -> bytes:
        """The JPEG of a photo as it was stored.

        Raises
        ------
        UnknownEntryError
            There is no such photo.
        """
        from jointlab.book import photos

        with self._reading() as connection:
            return photos.photo_bytes(connection, photo_id)

    def head(self) -> str:
        """Digest of the last revision of a pull: it changes with every entry, and stands for all before it."""
        with self._reading() as connection:
            return reading.head(connection)

    def has_entry(self, digest: str) -> bool:
        """Whether the chain of pulls holds an entry with this digest: whether what ended there came from this book."""
        with self._reading() as connection:
            return reading.has_entry(connection, digest)

    def check(self) -> BookCheck:
        """Look through the whole book for damage: file, references, chain of revisions."""
        from jointlab.book.inspection import look_through

        with self._reading() as connection:
            return look_through(connection, self.place)

    def backup(self, path: str | Path) -> Path:
        """Write the whole book, as it stands at one moment, to a new file, while others go on writing.

        The book of a server becomes a book in a file: with ``restore`` that is how a book moves, either way.

        Raises
        ------
        BookError
            Something stands there already, or it cannot be written.
        """
        if self._file is None:
            from jointlab.book.moving import back_up_from_server

            with told_plainly(self.place):
                return back_up_from_server(self._engine, Path(path))
        from jointlab.book.backup import back_up

        return back_up(self._file, Path(path))

    def _now(self) -> str:
        return self._clock().astimezone(UTC).isoformat(timespec="microseconds")

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with told_plainly(self.place), writing(self._engine).begin() as connection:
            yield connection

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with told_plainly(self.place), reading_at_one_moment(self._engine).connect() as connection:
            yield connection
