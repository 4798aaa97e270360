"""The build book: made in its own time, and what is in those that were made."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import Any

from lugwright.web.asked.asked import LONG, Args, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.web.made_books import PAPERS, ZIP, MadeBook, Paper, made_book
from lugwright.workflow import Opened, write_book

STAGES = 5  # words that are told while a book is made: planning, drawing, charts, pages, packing
GROUPS = {
    ".html": "To read and to print",
    ".pdf": "To read and to print",
    ".csv": "Tables",
    ".svg": "Drawings",
    ".dxf": "For the machine that drills",
    ".json": "For programs",
}


class BookArgs(Args):
    """The paper of the PDF."""

    paper: Paper


def _make(desk: Desk, args: BookArgs) -> dict[str, Any]:
    opened = desk.opened
    told_of = iter(range(STAGES))

    def progress(words: str) -> None:
        desk.tell(next(told_of, STAGES - 1) / STAGES, words)

    place = _place(desk, opened, args.paper)
    file, position = _digest(opened.path), opened.bench_log.log.last_position()

    def about() -> dict[str, Any]:
        made_from = [file, _digest(opened.plan_path), position]  # the plan is written with the book
        when = datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC")
        return {"copy": opened.bench_log.copy, "when": when, "from": made_from}

    told = place.make(lambda folder: write_book(opened, folder, paper=args.paper, progress=progress), about)
    return {"paper": args.paper, "files": len(told["files"])}


def _books(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    return {"books": [_told(_place(desk, opened, paper), paper, opened) for paper in PAPERS]}


def _copy(desk: Desk, args: BookArgs) -> dict[str, Any]:
    """Return which copy is meant: the one last worked on where none is named."""
    return {"copy": desk.opened.bench_log.copy}


def _place(desk: Desk, opened: Opened, paper: str) -> MadeBook:
    return made_book(desk.private, desk.path, opened.bench_log.copy, paper)


def _told(place: MadeBook, paper: str, opened: Opened) -> dict[str, Any]:
    found = place.told
    if found is None:
        return {"paper": paper, "made": None}
    groups: dict[str, list[dict[str, Any]]] = {}
    for each in found["files"]:
        if each["name"] != ZIP:
            groups.setdefault(GROUPS[PurePosixPath(each["name"]).suffix], []).append(_file(each))
    html = next(each["name"] for each in found["files"] if each["name"].endswith(".html"))
    return {
        "paper": paper,
        "made": found["when"],
        "html": html,
        "zip": _file(next(each for each in found["files"] if each["name"] == ZIP)),
        "chapters": found["chapters"],
        "groups": [{"title": title, "files": groups[title]} for title in dict.fromkeys(GROUPS.values())],
        "old": found["from"] != _made_from(opened),
    }


def _file(each: dict[str, Any]) -> dict[str, str]:
    size = each["bytes"]
    words = f"{size / 1e6:.1f} MB" if size >= 1e6 else f"{max(size / 1e3, 0.1):.1f} kB"
    return {"name": each["name"], "short": PurePosixPath(each["name"]).name, "size": words}


def _made_from(opened: Opened) -> list[Any]:
    """Return what a book is made from: the build file, the plan, how far the log is."""
    return [_digest(opened.path), _digest(opened.plan_path), opened.bench_log.log.last_position()]


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else ""


MAKE_BOOK = Asked("make book", _make, BookArgs, LONG, words="the book")
BOOKS = Asked("books", _books)
BOOK_COPY = Asked("book copy", _copy, BookArgs)
