"""Words of a build file, a log and a file name that would be markup: every page shows them as words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.log_tail import NoteArgs, PhotoArgs
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk, Openings
from lugwright.web.pages.table import PAGES
from lugwright.workflow import open_build, write_plan

from .served import exchanged, request, status_of

EVIL = "</title></svg><img src=x onerror=alert(1)><script>alert(2)</script>'&"
TOML = json.dumps(EVIL)
MINE = {"script", "link", "img", "iframe", "object", "embed", "base", "meta", "form"}


class Elements(HTMLParser):
    """The elements of a page that could do something, and every attribute that could."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.acts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in MINE:
            self.found.append((tag, dict(attrs)))
        self.acts += [name for name, value in attrs if name.startswith("on") or "javascript:" in (value or "")]


@pytest.fixture(scope="module")
def folder(planned_dunlin: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with such a build, planned, with such a log beside it."""
    folder = tmp_path_factory.mktemp("hostile")
    text = planned_dunlin.read_text(encoding="utf-8")
    for words in ('"Dunlin 5"', '"Input"', '"Volume"', '"Tone"', '"Speaker 8 ohm"', '"Mains"', '"Second stage"'):
        assert words in text
        text = text.replace(words, TOML)
    path = folder / "a&b <img src=x onerror=alert(3)>.toml"
    path.write_text(text, encoding="utf-8")
    write_plan(open_build(path))
    desk = Desk(path, EVIL[:60], "", Openings(), lambda share, words: None)
    ASKED["note"].answer(desk, NoteArgs(text=EVIL, about=EVIL))
    (folder / "<img src=x onerror=alert(4)>.jpg").write_bytes(b"\xff\xd8\xff" + bytes(100))
    ASKED["photo"].answer(desk, PhotoArgs(file="<img src=x onerror=alert(4)>.jpg", text=EVIL))
    return folder


NAME = "a-b-img-src-x-onerror-alert-3"


@pytest.mark.parametrize("target", ["/", *(f"/build/{NAME}/{page.name}" for page in PAGES), f"/build/{NAME}/none"])
@pytest.mark.parametrize("query", ["", "?copy=%22%3E%3Cimg%20src%3Dx%20onerror%3Dalert(5)%3E"])
def test_every_page_shows_them_as_words(port: int, target: str, query: str) -> None:
    answer = exchanged(port, request(port, target + query))
    page = answer.split(b"\r\n\r\n", 1)[1].decode()
    assert status_of(answer) == (404 if target.endswith("none") else 200)
    if status_of(answer) == 200:
        assert "&lt;script&gt;alert(2)" in page
    elements = Elements(page)
    assert elements.acts == []
    for tag, attributes in elements.found:
        assert tag in ("script", "link", "meta", "form", "img"), tag
        if tag == "script":
            assert (attributes.get("src") or "").startswith("/static/")
        if tag == "img":
            assert (attributes.get("src") or "").startswith(f"/build/{NAME}/photos/"), attributes


def test_every_drawing_stays_one_drawing(folder: Path) -> None:
    desk = Desk(next(folder.glob("*.toml")), "", "", Openings(), lambda share, words: None)
    drawings = [
        text
        for name in ("wiring", "circuit drawings", "shelf card")
        for text in _svg(ASKED[name].answer(desk, NoArgs()))
    ]
    assert len(drawings) >= 3
    for text in drawings:
        tags = {element.tag.rpartition("}")[2] for element in ElementTree.fromstring(text).iter()}
        assert not tags & {"script", "img", "foreignObject", "image", "iframe", "a"}


def _svg(found: Any) -> Iterator[str]:
    if isinstance(found, str) and "<svg" in found[:200]:
        yield found
    for each in found.values() if isinstance(found, dict) else found if isinstance(found, list) else ():
        yield from _svg(each)
