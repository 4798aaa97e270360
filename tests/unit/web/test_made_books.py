"""Books made on the bench: put in place whole, taken away by the names of their own list only."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.book import BOOKS
from lugwright.web.desk import Desk, Openings
from lugwright.web.made_books import MadeBook, made_book

PAGE = '<nav><ol><li><a href="#how">How &amp; why</a></li><li><a href="#idle">Idle</a></li></ol></nav>'


def written(folder: Path) -> list[Path]:
    (folder / "tables").mkdir()
    pages = {"amp.html": PAGE, "tables/parts.csv": "part\r\nR1\r\n"}
    for name, text in pages.items():
        (folder / name).write_text(text, newline="")
    return [folder / name for name in pages]


def about() -> dict[str, object]:
    return {"copy": "1", "when": "2026-01-02 03:04 UTC", "from": ["", "", 0]}


@pytest.fixture
def book(tmp_path: Path) -> MadeBook:
    place = made_book(tmp_path, Path("/somewhere/amp.toml"), "1", "A4")
    place.make(written, about)
    return place


def test_a_book_says_what_is_in_it(book: MadeBook) -> None:
    told = book.told
    assert told is not None
    assert [each["name"] for each in told["files"]] == ["amp.html", "tables/parts.csv", "everything.zip"]
    assert told["chapters"] == [{"key": "how", "title": "How & why"}, {"key": "idle", "title": "Idle"}]


def test_the_zip_holds_every_file_and_is_the_same_each_time(book: MadeBook) -> None:
    packed = book.folder / "everything.zip"
    assert zipfile.ZipFile(packed).namelist() == ["amp.html", "tables/parts.csv"]
    before = packed.read_bytes()
    book.make(written, about)
    assert packed.read_bytes() == before


@pytest.mark.parametrize(
    "name", ["made.json", "", ".", "..", "../amp.html", "tables/../amp.html", "/etc/passwd", "AMP.HTML", "tables"]
)
def test_nothing_but_what_is_listed_is_found(book: MadeBook, name: str) -> None:
    assert book.path_of(name) is None


def test_what_is_listed_is_found(book: MadeBook) -> None:
    path = book.path_of("tables/parts.csv")
    assert path is not None
    assert path.read_bytes() == b"part\r\nR1\r\n"


def test_a_book_that_failed_leaves_the_one_before_in_place(book: MadeBook) -> None:
    def fails(folder: Path) -> list[Path]:
        (folder / "half.html").write_text("half")
        raise OSError("no room")

    with pytest.raises(OSError, match="no room"):
        book.make(fails, about)
    assert book.path_of("amp.html") is not None


def test_builds_copies_and_papers_have_folders_of_their_own(tmp_path: Path) -> None:
    places = {
        made_book(tmp_path, Path(build), copy, paper).folder
        for build in ("/a.toml", "/b.toml")
        for copy in ("1", "../../2")
        for paper in ("A4", "Letter")
    }
    assert len(places) == 8
    assert {place.parent for place in places} == {tmp_path}


def test_before_one_is_made_there_is_none(dunlin: Path, tmp_path: Path) -> None:
    desk = Desk(dunlin, "", "", Openings(), lambda share, words: None, tmp_path / "private")
    assert BOOKS.answer(desk, NoArgs()) == {"books": [{"paper": "A4", "made": None}, {"paper": "Letter", "made": None}]}
