"""What is read of a damaged log: every entry that the damage spared, none that was never written."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.errors import LogDamaged
from lugwright.log.events import NOTE, Entry
from lugwright.log.rescue import rescued
from lugwright.log.store import Log

PAGE = 4096
NOTES = 60


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a log of some thirty pages, all of it in the one file; long notes run over several."""
    path = tmp_path_factory.mktemp("log") / "amp.log.sqlite"
    for k in range(NOTES):
        Log(path).append("1", [(NOTE, f"strip A lug {k}", {"text": f"{k} " + "y" * (9000 if k % 10 == 0 else 900)})])
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return path


def damaged(whole: Path, folder: Path, at: int, length: int, filled: bytes = b"\xff") -> Path:
    path = folder / whole.name
    raw = bytearray(whole.read_bytes())
    raw[at : at + length] = filled * len(raw[at : at + length])
    path.write_bytes(raw)
    return path


def true_ones(found: tuple[Entry, ...], whole: Path) -> bool:
    return set(map(_told, found)) <= set(map(_told, Log(whole).entries()))


def _told(entry: Entry) -> tuple[str, str, str]:
    return entry.id, entry.time, str(entry.body)


def test_of_a_sound_log_everything_is_read(whole: Path) -> None:
    found = rescued(whole)
    assert found.entries == Log(whole).entries()
    assert found.lost == 0


def test_what_is_not_yet_taken_over_is_read_too_and_the_files_stay_as_they_are(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    reader = sqlite3.connect(path)  # holds the -wal open
    Log(path).append("1", [(NOTE, "", {"text": "first"})])
    reader.execute("SELECT count(*) FROM entries").fetchone()
    Log(path).append("1", [(NOTE, "", {"text": "second"})])
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    assert before["amp.log.sqlite-wal"]
    assert [entry.body["text"] for entry in rescued(path).entries] == ["first", "second"]
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before
    reader.close()


@pytest.mark.parametrize("page", [1, 2, 3, 6, 12])
def test_a_page_lost_costs_what_stood_on_it_and_no_more(whole: Path, tmp_path: Path, page: int) -> None:
    path = damaged(whole, tmp_path, page * PAGE, PAGE, b"\0")
    found = rescued(path)
    assert true_ones(found.entries, whole)
    assert len(found.entries) + found.lost <= NOTES
    assert len(found.entries) >= NOTES - 5


@pytest.mark.parametrize("length", [16, 100, PAGE])
def test_a_log_whose_first_page_is_gone_is_read_all_the_same(whole: Path, tmp_path: Path, length: int) -> None:
    path = damaged(whole, tmp_path, 0, length)
    with pytest.raises(LogDamaged):
        Log(path).entries()
    assert rescued(path).entries == Log(whole).entries()


def test_a_log_cut_short_gives_what_came_before(whole: Path, tmp_path: Path) -> None:
    path = tmp_path / whole.name
    raw = whole.read_bytes()
    path.write_bytes(raw[: len(raw) // 2])
    found = rescued(path)
    assert true_ones(found.entries, whole)
    assert len(found.entries) > NOTES // 4


@settings(max_examples=40, deadline=None)
@given(at=st.integers(0, 200_000), length=st.integers(1, 20_000), filled=st.sampled_from([b"\0", b"\xff", b"\x80"]))
def test_damage_anywhere_costs_at_most_what_stood_there(
    whole: Path, tmp_path_factory: pytest.TempPathFactory, at: int, length: int, filled: bytes
) -> None:
    path = damaged(whole, tmp_path_factory.mktemp("hurt"), at % whole.stat().st_size, length, filled)
    found = rescued(path)
    written = [entry.id for entry in Log(whole).entries()]
    pages = length // PAGE + 2
    assert [entry.id for entry in found.entries] == [i for i in written if i in {e.id for e in found.entries}]
    assert NOTES - 5 * pages <= len(found.entries) <= NOTES - found.lost
    shutil.rmtree(path.parent)


def test_a_file_of_something_else_gives_nothing(tmp_path: Path) -> None:
    path = tmp_path / "amp.log.sqlite"
    path.write_bytes(b"not a log" * 5000)
    with pytest.raises(LogDamaged, match="cannot be read as a log"):
        rescued(path)
