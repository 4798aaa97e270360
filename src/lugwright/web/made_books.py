"""Books made on the bench: each in a folder of its own below the server's private one, with a list of what is in it."""

from __future__ import annotations

import hashlib
import html
import json
import re
import shutil
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

LIST = "made.json"
ZIP = "everything.zip"
Paper = Literal["A4", "Letter"]
PAPERS: tuple[Paper, ...] = ("A4", "Letter")
_CHAPTER = re.compile(r'<li><a href="#([a-z_-]+)">([^<]*)</a></li>')
_LONG_AGO = (1980, 1, 1, 0, 0, 0)  # in the ZIP: the same book is the same bytes


@dataclass(frozen=True)
class MadeBook:
    """Where the book of a build, a copy and a paper is, or would be."""

    folder: Path

    @property
    def told(self) -> dict[str, Any] | None:
        """Return what is in it, None while there is none."""
        try:
            found: dict[str, Any] = json.loads((self.folder / LIST).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return found

    def path_of(self, name: str) -> Path | None:
        """Return the file of that name; None unless it is, letter for letter, one of the list."""
        told = self.told
        names = {each["name"] for each in told["files"]} if told else set()
        return self.folder / name if name in names else None

    def make(self, write: Callable[[Path], list[Path]], about: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        """Have the book written beside the place, and put there once it is whole; return what is in it."""
        beside, before = self.folder.with_suffix(".part"), self.folder.with_suffix(".before")
        for left_over in (beside, before):
            shutil.rmtree(left_over, ignore_errors=True)
        beside.mkdir(parents=True, mode=0o700)
        written = [path.relative_to(beside).as_posix() for path in write(beside)]
        _zip(beside, written)
        told = {**about(), "files": [_file(beside, name) for name in (*written, ZIP)], "chapters": _chapters(beside)}
        (beside / LIST).write_text(json.dumps(told), encoding="utf-8")
        if self.folder.exists():
            self.folder.rename(before)
        beside.rename(self.folder)
        shutil.rmtree(before, ignore_errors=True)
        return told


def made_book(private: Path, build: Path, copy: str, paper: str) -> MadeBook:
    """Return the place of a book; its folder's name says nothing that came from a client."""
    key = hashlib.sha256("\0".join((str(build), copy, paper)).encode()).hexdigest()[:24]
    return MadeBook(private / f"book-{key}")


def _file(folder: Path, name: str) -> dict[str, Any]:
    return {"name": name, "bytes": (folder / name).stat().st_size}


def _zip(folder: Path, names: list[str]) -> None:
    with zipfile.ZipFile(folder / ZIP, "w", zipfile.ZIP_DEFLATED) as packed:
        for name in sorted(names):
            packed.writestr(zipfile.ZipInfo(name, _LONG_AGO), (folder / name).read_bytes(), zipfile.ZIP_DEFLATED)


def _chapters(folder: Path) -> list[dict[str, str]]:
    """Return the chapters of the book, from the table of contents of its HTML."""
    page = next(folder.glob("*.html")).read_text(encoding="utf-8")
    contents = page[: page.index("</nav>")]
    return [{"key": key, "title": html.unescape(title)} for key, title in _CHAPTER.findall(contents)]
