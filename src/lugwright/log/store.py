"""The log on disk: SQLite, only ever added to, safe against a pulled plug and a second writer."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path

from lugwright.errors import LogDamaged, LogError, LogUnwritable
from lugwright.log.events import Entry, checked, id_of_command, new_id

APPLICATION = 0x4C756757  # says whose file it is
VERSION = 1
RESCUE = "lugwright log BUILD_FILE --rescue FILE"
WAIT_S = 20.0  # for another writer
UNREADABLE = (sqlite3.Error, UnicodeDecodeError)  # the second where the library's own message quotes damaged bytes
Draft = tuple[str, str, dict[str, object]]  # kind, subject, body

_TABLES = f"""
CREATE TABLE entries (
  position INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE, time TEXT NOT NULL, copy TEXT NOT NULL, kind TEXT NOT NULL, subject TEXT NOT NULL,
  body TEXT NOT NULL
);
CREATE TRIGGER never_changed BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
CREATE TRIGGER never_removed BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'entries are never removed'); END;
PRAGMA application_id = {APPLICATION};
PRAGMA user_version = {VERSION};
"""
COLUMNS = "id, time, copy, kind, subject, body"


def utc_now() -> datetime:
    """Return the time; a function of its own, so that an opened log can be handed to another process."""
    return datetime.now(UTC)


class Log:
    """The log of one build. Nothing is made on disk before the first entry.

    ``command`` names the order that everything appended comes from: given twice, it is carried out once.
    """

    def __init__(self, path: Path, *, now: Callable[[], datetime] = utc_now, command: str = "") -> None:
        self.path, self._now, self._command = path, now, command

    def entries(self, kinds: Sequence[str] = ()) -> tuple[Entry, ...]:
        """Return every entry, or those of some kinds, in the order in which things happened.

        Raises
        ------
        LogError
            The file is damaged, or none of ours.
        """
        if not self.path.exists():
            return ()
        with self._reading() as connection:
            if self._is_empty(connection):
                return ()
            which = f"WHERE kind IN ({', '.join('?' * len(kinds))})" if kinds else ""
            asked = f"SELECT {COLUMNS} FROM entries {which} ORDER BY time, position"
            rows = connection.execute(asked, tuple(kinds)).fetchall()
        return tuple(self._entry(row) for row in rows)

    def copies(self) -> tuple[str, ...]:
        """Return the serial numbers in the log, the one last worked on first.

        Raises
        ------
        LogError
            The file is damaged, or none of ours.
        """
        if not self.path.exists():
            return ()
        with self._reading() as connection:
            if self._is_empty(connection):
                return ()
            asked = "SELECT copy, time, position FROM entries ORDER BY time DESC, position DESC"
            return tuple(dict.fromkeys(str(copy) for copy, _, _ in connection.execute(asked)))

    def last_position(self) -> int:
        """Return how many entries were ever added; 0 before the first.

        Raises
        ------
        LogError
            The file is damaged, or none of ours.
        """
        if not self.path.exists():
            return 0
        with self._reading() as connection:
            if self._is_empty(connection):
                return 0
            (last,) = connection.execute("SELECT coalesce(max(position), 0) FROM entries").fetchone()
            return int(last)

    def append(self, copy: str, drafts: Sequence[Draft]) -> tuple[Entry, ...]:
        """Add entries, all or none; when this returns they are on the disk.

        What the same command appended before is returned as it was written then, and nothing is added.

        Raises
        ------
        LogError
            The file is damaged, none of ours, or cannot be written.
        """
        if not drafts:
            return ()
        about = _stamp(datetime.fromtimestamp(0.0, UTC))
        found = [
            checked(
                {"id": self._id(k), "time": about, "copy": copy, "kind": kind, "subject": subject, "body": body}, kind
            )
            for k, (kind, subject, body) in enumerate(drafts)
        ]  # before the file is touched: what is no entry leaves nothing behind
        with self._writing() as connection:
            if self._command and (before := self._of_command(connection)):
                return before
            time = self._next_time(connection)
            entries = tuple(replace(entry, time=time) for entry in found)
            self._insert(connection, entries)
        return entries

    def _id(self, number: int) -> str:
        return id_of_command(self._command, number) if self._command else new_id()

    def _of_command(self, connection: sqlite3.Connection) -> tuple[Entry, ...]:
        """Return what this command has written already."""
        found: list[Entry] = []
        asked = f"SELECT {COLUMNS} FROM entries WHERE id = ?"
        while (row := connection.execute(asked, (self._id(len(found)),)).fetchone()) is not None:
            found.append(self._entry(row))
        return tuple(found)

    def take_in(self, entries: Iterable[Entry]) -> int:
        """Add entries of another log, each once, all or none; return how many were new."""
        count = 0
        with self._writing() as connection:
            for entry in entries:
                row = connection.execute(f"SELECT {COLUMNS} FROM entries WHERE id = ?", (entry.id,)).fetchone()
                if row is None:
                    self._insert(connection, (entry,))
                    count += 1
                elif self._entry(row) != entry:
                    raise LogError(
                        what="two different entries have one identifier",
                        found=f"{entry.id}: {entry.kind} {entry.subject}, and {row[3]} {row[4]} in {self.path.name}",
                        wanted="the entry as it was written first",
                        do="import an export that nobody has edited",
                    )
        return count

    def _next_time(self, connection: sqlite3.Connection) -> str:
        """Return the time now, later than every entry's whatever the clock says: their order is what happened."""
        now = self._now()
        (last,) = connection.execute("SELECT max(time) FROM entries").fetchone()
        if last is not None and _stamp(now) <= last:
            now = datetime.fromisoformat(last) + timedelta(microseconds=1)
        return _stamp(now)

    @staticmethod
    def _insert(connection: sqlite3.Connection, entries: Iterable[Entry]) -> None:
        connection.executemany(
            f"INSERT INTO entries ({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",
            [(e.id, e.time, e.copy, e.kind, e.subject, json.dumps(e.body, ensure_ascii=False)) for e in entries],
        )

    def _entry(self, row: tuple[str, ...]) -> Entry:
        try:
            return _entry_of(row)
        except (TypeError, ValueError):
            raise self._damaged(f"entry {row[0]} cannot be read") from None

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        try:
            with closing(self._opened()) as connection:
                if not self._is_empty(connection):  # else a writer was killed before the first entry
                    self._ours(connection)
                yield connection
        except UNREADABLE as error:
            raise self._trouble(error) from error

    def _opened(self) -> sqlite3.Connection:
        """Open for reading, also where nothing may be written."""
        if not self.path.is_file():
            raise self._damaged("it is a folder, or no plain file")
        address = self.path.absolute().as_uri()
        unfinished = self.path.with_name(f"{self.path.name}-wal").exists()
        modes = ["?mode=rw", "?mode=ro", *([] if unfinished else ["?mode=ro&immutable=1"])]
        for mode in modes[:-1]:
            connection = sqlite3.connect(address + mode, uri=True, timeout=WAIT_S)
            try:
                connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
            except sqlite3.OperationalError:
                connection.close()
            except BaseException:
                connection.close()
                raise
            else:
                return connection
        return sqlite3.connect(address + modes[-1], uri=True, timeout=WAIT_S)

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """Open, in one transaction that is on the disk when the block is left."""
        try:
            with closing(sqlite3.connect(self.path, timeout=WAIT_S, isolation_level=None)) as connection:
                if not self._is_empty(connection):
                    self._ours(connection)
                connection.execute("PRAGMA journal_mode = WAL")
                connection.execute("PRAGMA synchronous = FULL")
                connection.execute("BEGIN IMMEDIATE")
                try:
                    if self._is_empty(connection):
                        make_tables(connection)
                    yield connection
                    connection.execute("COMMIT")
                except BaseException:
                    if connection.in_transaction:
                        connection.execute("ROLLBACK")
                    raise
        except UNREADABLE as error:
            raise self._trouble(error) from error

    @staticmethod
    def _is_empty(connection: sqlite3.Connection) -> bool:
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        return bool(tables == 0)

    def _ours(self, connection: sqlite3.Connection) -> None:
        (application,) = connection.execute("PRAGMA application_id").fetchone()
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        if application != APPLICATION:
            raise LogError(
                what=f"{self.path.name} is not a log of this program",
                found="a database of something else",
                wanted="the log that lugwright tick writes",
                do="move that file away, or give the build file another name",
            )
        if version != VERSION:
            raise LogError(
                what=f"{self.path.name} was written by another version",
                found=f"version {version}",
                wanted=f"version {VERSION}",
                do="use the version of lugwright that wrote it, or a newer one",
            )
        damage = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
        if damage != "ok":
            raise self._damaged(str(damage))

    def _trouble(self, error: sqlite3.Error | UnicodeDecodeError) -> LogError:
        if isinstance(error, sqlite3.OperationalError):
            return LogUnwritable(
                what=f"{self.path.name} cannot be opened",
                found=str(error),
                wanted="a file and a folder this program may write to, with room left, on a disk of this machine",
                do="close what else has it open, free some room, or copy the folder to a disk of this machine",
            )
        return self._damaged(
            str(error) if isinstance(error, sqlite3.Error) else "what it says of its tables is no text"
        )

    def _damaged(self, found: str) -> LogDamaged:
        return damaged(self.path, found)


def make_tables(connection: sqlite3.Connection) -> None:
    """Lay out the tables of a new log."""
    for statement in _TABLES.strip().split(";\n"):
        connection.execute(statement)


def damaged(path: Path, found: str) -> LogDamaged:
    """Return the error that says a log is not as this program wrote it."""
    return LogDamaged(
        what=f"{path.name} cannot be read as a log",
        found=found[:200],
        wanted="the file as this program wrote it",
        do=f"save what can still be read with {RESCUE}, or take your last copy or export; "
        "move the damaged file away, and keep it",
    )


@lru_cache(maxsize=20_000)  # a log is read again at every tick, and what is in it never changes
def _entry_of(row: tuple[str, ...]) -> Entry:
    body = json.loads(row[5])
    return checked(dict(zip(COLUMNS.split(", "), (*row[:5], body), strict=True)), f"entry {row[0]}")


def _stamp(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f") + "Z"
