"""What a learner has answered, kept in one SQLite file in the user's data folder.

Nothing typed is lost: an answer that cannot be written (full disk, folder that may not be written, another
notebook at it) stays in memory and is written with the next one. A damaged file is set aside, never
deleted. Each reading or writing opens the file and closes it again, so several notebooks can share it and
a stick can be pulled out between two answers.
"""

from __future__ import annotations

import atexit
import errno
import os
import sqlite3
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import astuple, dataclass, field, fields, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from helpers.errors import Unreadable, WorkbookError
from helpers.files import FOLDER_VARIABLE, make_own_folder, own_folder
from helpers.spreadsheet import csv_file

T = TypeVar("T")

FILE = "progress.sqlite"

STEPS_SHOWN = "steps shown"

# Written into the file; a file with a higher number was made by a newer workbook and is left alone.
SCHEME = 1
_TABLE = """
CREATE TABLE IF NOT EXISTS answers (
    lesson TEXT NOT NULL, kind TEXT NOT NULL, seed TEXT NOT NULL, typed TEXT NOT NULL, verdict TEXT NOT NULL,
    steps_seen INTEGER NOT NULL, at TEXT NOT NULL, id TEXT PRIMARY KEY
)
"""
_SAW = "SELECT 1 FROM answers WHERE lesson = ? AND kind = ? AND seed = ? AND steps_seen LIMIT 1"
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


@dataclass(frozen=True)
class Attempt:
    """One try: the question, what was typed, the verdict, whether the steps had been seen, and when (UTC).

    With the verdict `STEPS_SHOWN` nothing was typed: the steps, and the answer with them, were shown.
    """

    lesson: str
    kind: str
    seed: str
    typed: str
    verdict: str
    steps_seen: bool = False
    at: str = field(default_factory=lambda: datetime.now(UTC).isoformat(timespec="seconds"))
    # Lets an answer be written twice without counting twice, when a write failed only after it was done.
    id: str = field(default_factory=lambda: uuid.uuid4().hex)


def own_progress() -> Progress:
    """The learner's own progress; one object per folder, so all panels of a notebook share what is unwritten."""
    return _progress_in(own_folder())


class Progress:
    """The answers in one folder.

    `trouble` holds a sentence for the learner while something is wrong with the file, else it is empty.
    """

    def __init__(self, folder: Path, *, patience_s: float = 3.0) -> None:
        self.folder, self.path, self.patience_s = folder, folder / FILE, patience_s
        self.trouble = ""
        self._unwritten: list[Attempt] = []

    def record(self, attempt: Attempt) -> str:
        """Keep an answer; returns the sentence in `trouble`, empty if it is on the disk."""
        # Half of a surrogate pair, which a paste may leave, can't be stored as it is; escaped, it can.
        typed = attempt.typed.encode("utf-8", "backslashreplace").decode()
        self._unwritten.append(replace(attempt, typed=typed))
        return self.write()

    def write(self) -> str:
        """Write what is still only in memory; returns the sentence in `trouble`."""
        if self._unwritten:
            self._guarded(self._write)
        return self.trouble

    def answers(self) -> list[Attempt]:
        """All answers, oldest first, those not yet written included; what cannot be read is missing (see `trouble`)."""
        return self._with_unwritten(self._stored() or [])

    def right(self) -> dict[str, set[str]]:
        """The kinds answered right, by lesson. A right answer after seeing its steps is not counted."""
        stored = self._guarded(self._read_right) if self._begun() else []
        unwritten = [
            (attempt.lesson, attempt.kind)
            for attempt in self._unwritten
            if attempt.verdict == "right" and not attempt.steps_seen
        ]
        kinds_right: dict[str, set[str]] = {}
        for lesson, kind in [*(stored or []), *unwritten]:
            kinds_right.setdefault(lesson, set()).add(kind)
        return kinds_right

    def saw_steps(self, lesson: str, kind: str, seed: str) -> bool:
        """True if the steps of this question were shown before it was answered right."""
        asked = (lesson, kind, seed)
        if any(
            (attempt.lesson, attempt.kind, attempt.seed) == asked and attempt.steps_seen for attempt in self._unwritten
        ):
            return True
        return bool(self._begun() and self._guarded(lambda: self._rows(_SAW, asked)))

    def last_place(self) -> tuple[str, str] | None:
        """Lesson and kind of the last answer, or None before the first."""
        answers = self.answers()
        return (answers[-1].lesson, answers[-1].kind) if answers else None

    def export(self, path: Path, learner: str = "") -> Path:
        """Write all answers to a CSV file that a spreadsheet opens; the learner's name goes in only if given."""
        stored = self._stored()
        if stored is None:
            raise WorkbookError(f"Nothing was exported. {self.trouble}")
        columns = ([] if not learner else ["learner"]) + [f.name for f in fields(Attempt)[:-1]]
        rows = [[learner] * bool(learner) + [*astuple(attempt)[:-1]] for attempt in self._with_unwritten(stored)]
        beside = path.with_name(path.name + ".part")
        try:
            beside.write_bytes(csv_file([columns, *rows]))
            beside.replace(path)  # so that no half-written file is left
        except OSError as error:
            beside.unlink(missing_ok=True)
            raise WorkbookError(
                f"Could not write {path}: {error.strerror}. Nothing is lost; choose another place."
            ) from error
        return path

    def delete(self, *, confirm: bool = False) -> str:
        """Delete all answers, for good, files set aside included. Returns a sentence on what was deleted."""
        count = len(self.answers())
        if not confirm:
            raise WorkbookError(
                f"This deletes {count} answers for good. Export them first; then call delete(confirm=True)."
            )
        if self._begun() and self._guarded(self._empty) is None:
            raise WorkbookError(f"The answers could not be deleted. {self.trouble}")
        self._unwritten.clear()
        self.trouble = ""
        damaged = self._set_aside_files()
        for file in damaged:
            file.unlink()
        return f"Deleted: {count} answers, {len(damaged)} damaged files."

    # -- the file ---------------------------------------------------------------------------------

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        # The rollback journal, SQLite's default, also works on sticks and network drives; a write that was
        # cut off (kernel killed, power gone) is rolled back by whoever opens the file next.
        file = sqlite3.connect(self.path, timeout=self.patience_s, isolation_level=None)
        try:
            # A damaged text is shown as far as it can be read.
            file.text_factory = lambda raw: raw.decode(errors="replace")
            scheme = file.execute("PRAGMA user_version").fetchone()[0]
            if scheme > SCHEME:
                raise Unreadable(f"{self.path} was made by a newer workbook and is left as it is.")
            columns = {row[1] for row in file.execute("PRAGMA table_info(answers)")}
            if columns and (missing := [f.name for f in fields(Attempt) if f.name not in columns]):
                raise Unreadable(
                    f"{self.path} was not made by this workbook: its table lacks the column {', '.join(missing)}. It "
                    f"is left as it is. Put it elsewhere, or name another folder with the variable {FOLDER_VARIABLE}."
                )
            yield file
        finally:
            file.close()

    def _write(self) -> None:
        make_own_folder(self.folder)
        with self._open() as file:
            # Whatever goes wrong before COMMIT, closing the file takes the whole batch back.
            file.execute("BEGIN IMMEDIATE")
            file.execute(_TABLE)
            file.execute(f"PRAGMA user_version = {SCHEME}")
            names, places = ", ".join(f.name for f in fields(Attempt)), ", ".join("?" * len(fields(Attempt)))
            file.executemany(
                f"INSERT OR IGNORE INTO answers ({names}) VALUES ({places})", map(astuple, self._unwritten)
            )
            file.execute("COMMIT")
        self._unwritten.clear()

    def _read(self) -> list[Attempt]:
        columns = ", ".join(f.name for f in fields(Attempt))
        rows = self._rows(f"SELECT {columns} FROM answers ORDER BY rowid")
        return [replace(Attempt(*row), steps_seen=bool(row[5])) for row in rows]

    def _read_right(self) -> list[tuple[str, str]]:
        return self._rows("SELECT DISTINCT lesson, kind FROM answers WHERE verdict = 'right' AND NOT steps_seen")

    def _rows(self, query: str, values: tuple[str, ...] = ()) -> list[Any]:
        with self._open() as file:
            begun = file.execute("SELECT 1 FROM sqlite_master WHERE name = 'answers'").fetchone()
            return file.execute(query, values).fetchall() if begun else []

    def _begun(self) -> bool:
        # Path.exists would raise for a folder without permission to read.
        return os.path.exists(self.path)

    def _stored(self) -> list[Attempt] | None:
        """The answers in the file; None if it cannot be read."""
        return self._guarded(self._read) if self._begun() else []

    def _with_unwritten(self, stored: list[Attempt]) -> list[Attempt]:
        stored_ids = {attempt.id for attempt in stored}
        return [*stored, *(attempt for attempt in self._unwritten if attempt.id not in stored_ids)]

    def _empty(self) -> bool:
        with self._open() as file:
            file.execute("PRAGMA secure_delete = ON")
            file.execute("DROP TABLE IF EXISTS answers")
            file.execute("VACUUM")
        return True

    # -- trouble ----------------------------------------------------------------------------------

    def _guarded(self, work: Callable[[], T]) -> T | None:
        """Do the work; None if it failed. A damaged file is set aside and the work done once more. Sets `trouble`."""
        notice = ""
        for last_try in (False, True):
            before = self._identity()
            try:
                result = work()
            except (sqlite3.Error, OSError, WorkbookError) as error:
                if last_try or _code(error) not in _DAMAGED:
                    self.trouble = self._sentence(error)
                    return None
                notice = self._set_aside(before)
            else:
                if notice or not self._unwritten:
                    self.trouble = notice
                return result
        raise AssertionError  # the last go returns

    def _identity(self) -> tuple[int, ...] | None:
        try:
            stat = self.path.stat()
        except OSError:
            return None
        return stat.st_dev, stat.st_ino, stat.st_mtime_ns

    def _set_aside(self, seen: tuple[int, ...] | None) -> str:
        """Rename the damaged file, unless another notebook has just put a good one in its place."""
        if self._identity() != seen:
            return ""
        place = self.folder / f"progress-damaged-{uuid.uuid4().hex[:8]}.sqlite"
        try:
            self.path.rename(place)
        except OSError:
            return ""
        journal = Path(f"{self.path}-journal")
        if journal.exists():
            journal.rename(f"{place}-journal")
        return f"The progress file was damaged. It is kept as {place}, and a new one was begun."

    def _set_aside_files(self) -> list[Path]:
        return sorted(self.folder.glob("progress-damaged-*.sqlite*"))

    def _sentence(self, error: Exception) -> str:
        code = _code(error)
        kept = len(self._unwritten)
        if isinstance(error, WorkbookError):
            cause = str(error)
        elif code == sqlite3.SQLITE_BUSY:
            cause = "Another notebook is at the progress file."
        elif code == sqlite3.SQLITE_FULL or getattr(error, "errno", 0) == errno.ENOSPC:
            cause = f"The disk that holds {self.folder} is full. Make room on it."
        elif code == sqlite3.SQLITE_IOERR:
            cause = (
                f"The progress file in {self.folder} could not be written or read; the disk may be full or pulled out."
            )
        else:
            cause = (
                f"The progress file in {self.folder} cannot be used ({error}). The folder must exist and be yours to "
                f"write; the variable {FOLDER_VARIABLE} can name another."
            )
        if not kept:
            return cause
        answers = "1 answer is" if kept == 1 else f"{kept} answers are"
        return f"{cause} {answers} kept in memory and written with your next one; leave this notebook open until then."


def _code(error: Exception) -> int:
    """SQLite's primary result code; the extended ones hold more in their higher bytes."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


@cache
def _progress_in(folder: Path) -> Progress:
    progress = Progress(folder)
    # A kernel that shuts down in order writes what could not be written before.
    atexit.register(progress.write)
    return progress
