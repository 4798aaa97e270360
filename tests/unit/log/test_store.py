"""The log keeps what it has acknowledged, whatever happens, and says clearly what it cannot read."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from lugwright.errors import LogError
from lugwright.log.events import NOTE, Entry
from lugwright.log.rescue import rescued
from lugwright.log.state import PREDICTED, played
from lugwright.log.store import APPLICATION, Log

WRITER = [sys.executable, str(Path(__file__).with_name("keep_writing.py"))]
NOTED = (NOTE, "", {"text": "first"})


def test_nothing_is_made_before_the_first_entry(tmp_path: Path) -> None:
    log = Log(tmp_path / "amp.log.sqlite")
    assert log.entries() == ()
    assert log.append("1", []) == ()
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_entry_leaves_nothing_behind(tmp_path: Path) -> None:
    log = Log(tmp_path / "amp.log.sqlite")
    with pytest.raises(LogError):
        log.append("1", [NOTED, (NOTE, "\x1b", {"text": "x"})])
    assert list(tmp_path.iterdir()) == []


def test_a_file_begun_by_a_writer_that_was_killed_is_an_empty_log(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.close()
    assert path.exists()
    assert Log(path).entries() == ()
    assert Log(path).copies() == ()
    (entry,) = Log(path).append("1", [NOTED])
    assert Log(path).entries() == (entry,)


def test_entries_come_back_as_they_were_given_in_order(tmp_path: Path) -> None:
    log = Log(tmp_path / "amp.log.sqlite")
    one = log.append("1", [NOTED, (NOTE, "strip A", {"text": "zweiter, Ω \u2028 ☃"})])
    two = log.append("2", [("measured some day", "B+1", {"volts": 312.5, "deep": {"a": [1, None, True]}})])
    assert log.entries() == one + two
    assert [e.copy for e in log.entries()] == ["1", "1", "2"]
    assert len({e.id for e in log.entries()}) == 3


def test_the_order_is_that_of_writing_when_the_clock_goes_back(tmp_path: Path) -> None:
    moments = [datetime(2026, 11, 25, 12, tzinfo=UTC) - timedelta(hours=n) for n in range(3)]
    log = Log(tmp_path / "amp.log.sqlite", now=lambda: moments.pop(0))
    for name in "abc":
        log.append("1", [(NOTE, name, {"text": name})])
    assert [(e.subject, e.time) for e in log.entries()] == [
        ("a", "2026-11-25T12:00:00.000000Z"),
        ("b", "2026-11-25T12:00:00.000001Z"),
        ("c", "2026-11-25T12:00:00.000002Z"),
    ]


def test_the_file_is_in_write_ahead_form_and_nothing_in_it_can_be_changed_or_removed(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    Log(path).append("1", [NOTED])
    with sqlite3.connect(path) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION,)
        for statement, words in (("UPDATE entries SET body = ''", "changed"), ("DELETE FROM entries", "removed")):
            with pytest.raises(sqlite3.IntegrityError, match=f"entries are never {words}"):
                connection.execute(statement)
    connection.close()


def test_a_log_where_nothing_may_be_written_is_read(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    (entry,) = Log(path).append("1", [NOTED])
    path.chmod(0o444)
    tmp_path.chmod(0o555)
    try:
        assert Log(path).entries() == (entry,)
    finally:
        tmp_path.chmod(0o755)


@pytest.mark.parametrize("round_", range(4))
def test_nothing_acknowledged_is_lost_when_writers_are_killed(tmp_path: Path, round_: int) -> None:
    """Two processes write at once, each until SIGKILL; pairs of entries are there whole or not at all."""
    path = tmp_path / "amp.log.sqlite"
    told = [tmp_path / "one.txt", tmp_path / "two.txt"]
    writers = []
    for copy, what, file in zip("12", ("notes", "readings"), told, strict=True):
        with file.open("wb") as out:
            writers.append(subprocess.Popen([*WRITER, str(path), copy, what], stdout=out))
    try:
        deadline = time.monotonic() + 60.0
        while any(len(file.read_bytes()) < 33 * 8 for file in told) and time.monotonic() < deadline:
            time.sleep(0.02 + 0.007 * round_)
    finally:
        for writer in writers:
            os.kill(writer.pid, signal.SIGKILL)
            writer.wait()
    acknowledged = {line for file in told for line in file.read_text().split("\n")[:-1]}
    assert len(acknowledged) >= 16
    entries = Log(path).entries()
    assert min(sum(e.copy == copy for e in entries) for copy in "12") >= 8
    assert acknowledged <= {e.id for e in entries}
    second = [e.body.get("text") == "second" or e.subject == "second" for e in entries]
    assert second == [False, True] * (len(entries) // 2)
    Log(path).append("1", [NOTED])
    assert len(Log(path).entries()) == len(entries) + 1


def test_a_full_disk_is_told_and_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    """Files that may not grow beyond 200 kB stand for a disk that is full."""
    path = tmp_path / "amp.log.sqlite"
    first = Log(path).append("1", [NOTED])
    done = subprocess.run([*WRITER, str(path), "1", "readings", "200000"], capture_output=True, timeout=120, text=True)
    assert done.returncode == 7
    said = done.stderr.splitlines()
    assert said[0] == "amp.log.sqlite cannot be opened"
    assert said[1] in ("  found:  disk I/O error", "  found:  database or disk is full")
    assert said[3] == (
        "  do:     close what else has it open, free some room, or copy the folder to a disk of this machine"
    )
    told = done.stdout.splitlines()
    entries = Log(path).entries()
    assert len(told) > 20
    assert [e.id for e in entries] == [first[0].id, *told]
    Log(path).append("1", [NOTED])
    assert len(Log(path).entries()) == len(entries) + 1


def test_a_folder_that_cannot_be_written_is_told() -> None:
    with pytest.raises(LogError) as caught:
        Log(Path("/proc/self/amp.log.sqlite")).append("1", [NOTED])
    assert (caught.value.what, caught.value.found) == (
        "amp.log.sqlite cannot be opened", "unable to open database file",
    )  # fmt: skip


def test_some_kinds_and_the_copies_are_read_alone(tmp_path: Path) -> None:
    log = Log(tmp_path / "amp.log.sqlite")
    assert log.copies() == ()
    log.append("A", [NOTED, ("measured some day", "", {"a": 1})])
    log.append("B", [NOTED])
    log.append("A", [("measured some day", "", {"a": 2})])
    assert [e.body for e in log.entries(["measured some day"])] == [{"a": 1}, {"a": 2}]
    assert log.entries(["never"]) == ()
    assert log.copies() == ("A", "B")


def test_ten_thousand_readings_are_read_back_at_once(tmp_path: Path) -> None:
    log = Log(tmp_path / "amp.log.sqlite")
    body = {"step": "all tubes", "red": "B+1", "quantity": "V dc", "unit": "V"}
    log.append("1", [("reading", "B+1 to ground", {**body, "value": number / 1000}) for number in range(10_000)])
    began_s = time.process_time()
    bench = played(log.entries(), "1")
    assert time.process_time() - began_s < 2.0  # 0.4 s on the machine this was written on
    assert len(bench.readings) == 10_000
    assert [reading.body.value for reading in bench.counting.values()] == [9.999]
    assert log.entries(PREDICTED) == ()


def test_entries_of_another_log_are_taken_in_once(tmp_path: Path) -> None:
    one, two = Log(tmp_path / "one.sqlite"), Log(tmp_path / "two.sqlite")
    entries = one.append("1", [NOTED, NOTED, NOTED])
    assert two.take_in(entries[:2]) == 2
    assert two.take_in(entries) == 1
    assert two.take_in(entries) == 0
    assert two.entries() == one.entries()


def test_an_entry_changed_under_its_identifier_is_refused_and_nothing_is_taken_in(tmp_path: Path) -> None:
    log = Log(tmp_path / "amp.log.sqlite")
    (entry,) = log.append("1", [NOTED])
    other = Entry("0" * 32, entry.time, "1", NOTE, "", {"text": "new"})
    forged = Entry(entry.id, entry.time, "1", NOTE, "x", {"text": "forged"})
    with pytest.raises(LogError) as caught:
        log.take_in([other, forged])
    assert str(caught.value) == (
        "two different entries have one identifier\n"
        f"  found:  {entry.id}: note x, and note  in amp.log.sqlite\n"
        "  wanted: the entry as it was written first\n"
        "  do:     import an export that nobody has edited"
    )
    assert log.entries() == (entry,)


def test_a_file_that_is_no_database_is_named(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    path.write_bytes(b"not a log at all, whatever it is\n" * 40)
    for work in (Log(path).entries, lambda: Log(path).append("1", [NOTED])):
        with pytest.raises(LogError) as caught:
            work()
        assert str(caught.value) == (
            "amp.log.sqlite cannot be read as a log\n"
            "  found:  file is not a database\n"
            "  wanted: the file as this program wrote it\n"
            "  do:     save what can still be read with lugwright log BUILD_FILE --rescue FILE, or take your last copy "
            "or export; move the damaged file away, and keep it"
        )
    assert path.read_bytes().startswith(b"not a log")


def test_a_database_of_something_else_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE entries (a)")
    connection.close()
    before = path.read_bytes()
    for work in (Log(path).entries, lambda: Log(path).append("1", [NOTED])):
        with pytest.raises(LogError) as caught:
            work()
        assert str(caught.value) == (
            "amp.log.sqlite is not a log of this program\n"
            "  found:  a database of something else\n"
            "  wanted: the log that lugwright tick writes\n"
            "  do:     move that file away, or give the build file another name"
        )
    assert path.read_bytes() == before


def test_a_log_of_a_later_version_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    Log(path).append("1", [NOTED])
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 9")
    connection.close()
    with pytest.raises(LogError) as caught:
        Log(path).entries()
    assert str(caught.value) == (
        "amp.log.sqlite was written by another version\n"
        "  found:  version 9\n"
        "  wanted: version 1\n"
        "  do:     use the version of lugwright that wrote it, or a newer one"
    )


def reading(log: Log) -> tuple[Entry, ...] | str:
    """Return the entries, or what the log says."""
    try:
        return log.entries()
    except LogError as error:
        return error.what


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (0, "amp.log.sqlite cannot be read as a log"),
        (20, "amp.log.sqlite cannot be read as a log"),
        (101, "amp.log.sqlite cannot be read as a log"),
        (4096 + 7, "amp.log.sqlite cannot be read as a log"),
        (8192 + 3, "amp.log.sqlite cannot be read as a log"),
        (5000, ""),
    ],
)
def test_a_damaged_log_says_so(tmp_path: Path, at: int, said: str) -> None:
    path = tmp_path / "amp.log.sqlite"
    log = Log(path)
    entries = log.append("1", [(NOTE, "", {"text": "y" * 3000}) for _ in range(20)])
    raw = bytearray(path.read_bytes())
    raw[at : at + 60] = b"\xff" * 60
    path.write_bytes(raw)
    assert reading(log) == (said or entries)


@pytest.mark.parametrize("at", range(3500, 4096, 50))
def test_damage_in_what_a_log_says_of_its_tables_is_named(tmp_path: Path, at: int) -> None:
    path = tmp_path / "amp.log.sqlite"
    Log(path).append("1", [NOTED])
    raw = bytearray(path.read_bytes())
    raw[at : min(at + 150, 4096)] = b"\xff" * (min(at + 150, 4096) - at)
    path.write_bytes(raw)
    for work in (Log(path).entries, Log(path).last_position, lambda: Log(path).append("1", [NOTED])):
        with pytest.raises(LogError, match="cannot be read as a log"):
            work()
    assert [entry.body for entry in rescued(path).entries] == [NOTED[2]]


def test_a_log_cut_short_says_so(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    Log(path).append("1", [(NOTE, "", {"text": "y" * 3000}) for _ in range(20)])
    path.write_bytes(path.read_bytes()[:9000])
    with pytest.raises(LogError, match="cannot be"):
        Log(path).entries()


def test_a_folder_in_place_of_the_log_is_named(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    path.mkdir()
    with pytest.raises(LogError) as caught:
        Log(path).entries()
    assert caught.value.found == "it is a folder, or no plain file"
    with pytest.raises(LogError) as caught:
        Log(path).append("1", [NOTED])
    assert str(caught.value) == (
        "amp.log.sqlite cannot be opened\n"
        "  found:  unable to open database file\n"
        "  wanted: a file and a folder this program may write to, with room left, on a disk of this machine\n"
        "  do:     close what else has it open, free some room, or copy the folder to a disk of this machine"
    )
