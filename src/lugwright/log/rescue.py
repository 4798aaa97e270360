"""What can still be read of a damaged log. The damaged file is not touched."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from lugwright.errors import LogError
from lugwright.log.database_pages import rows_on_pages
from lugwright.log.events import Entry, checked
from lugwright.log.store import COLUMNS, UNREADABLE, damaged, make_tables

_NAMES = COLUMNS.split(", ")


@dataclass(frozen=True)
class Rescued:
    """The entries that can be read, in the order in which things happened, and how many are known to be lost."""

    entries: tuple[Entry, ...]
    lost: int


def rescued(path: Path) -> Rescued:
    """Return what can be read of a log, entry by entry; of a sound one, everything.

    An entry is taken as it stands: whether a letter in it was changed by the damage, nobody can tell.

    Parameters
    ----------
    path : Path
        The log. What it has not yet taken over from its ``-wal`` is read with it.

    Returns
    -------
    Rescued
        Entries, and how many places below the last one read hold none any more.

    Raises
    ------
    LogDamaged
        Nothing in it can be read.
    OSError
        The file cannot be opened.
    """
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "copy.sqlite"
        shutil.copyfile(path, copy)
        with suppress(FileNotFoundError):
            shutil.copyfile(f"{path}-wal", f"{copy}-wal")
        size = _page_size(copy)
        rows = rows_on_pages(copy.read_bytes(), size, len(_NAMES))
    found = {place: entry for place, row in rows.items() if (entry := _entry(row)) is not None}
    if not found:
        raise damaged(path, "not one entry in it can be read")
    in_order = sorted(found, key=lambda place: (found[place].time, place))
    return Rescued(tuple(found[place] for place in in_order), max(rows) - len(found))


def _page_size(copy: Path) -> int:
    """Have a copy take over its ``-wal``, if need be with the first page of a new log; return its size of pages."""
    try:
        return _taken_over(copy)
    except UNREADABLE:
        new = copy.with_name("new.sqlite")
        with closing(sqlite3.connect(new)) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            make_tables(connection)
            connection.commit()
        size = _taken_over(new)
        with copy.open("r+b") as file:
            file.write(new.read_bytes()[:size])
        with suppress(*UNREADABLE):
            _taken_over(copy)
        return size


def _taken_over(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        (size,) = connection.execute("PRAGMA page_size").fetchone()
        return int(size)


def _entry(row: tuple[str, ...]) -> Entry | None:
    try:
        return checked(dict(zip(_NAMES, (*row[:-1], json.loads(row[-1])), strict=True)), f"entry {row[0]}")
    except (LogError, ValueError, RecursionError):
        return None
