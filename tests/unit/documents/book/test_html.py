"""The HTML: the same book, self-contained, nothing of a builder's read as markup."""

from __future__ import annotations

import re
from collections import Counter
from html.parser import HTMLParser

from lugwright.documents.book.blocks import Table, book_columns, cell_words
from lugwright.documents.book.content import book_content
from lugwright.documents.book.html import html_text

from .sample_records import renamed, sample

HOSTILE = "<script>alert(1)</script> & \"q\" 'a' {{ 7 * 7 }} <b>t</b>"


class Seen(HTMLParser):
    """Collects tags, ids, addresses and text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: Counter[str] = Counter()
        self.ids: Counter[str] = Counter()
        self.links: list[str] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        for name, value in attrs:
            assert not name.startswith("on"), name
            if name == "id":
                self.ids[str(value)] += 1
            elif name in ("href", "src"):
                self.links.append(str(value))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def _seen(text: str) -> Seen:
    return Seen(text)


def test_words_of_a_builder_appear_literally() -> None:
    seen = _seen(html_text(book_content(renamed(HOSTILE), "A4")))
    assert seen.tags["script"] == 0
    assert HOSTILE in seen.words


def test_nothing_is_fetched_and_nothing_runs() -> None:
    text = html_text(book_content(sample(), "A4"))
    seen = _seen(text)
    assert seen.tags["script"] == seen.tags["link"] == seen.tags["img"] == seen.tags["iframe"] == 0
    assert seen.links
    assert all(link.startswith("#") for link in seen.links)
    assert "@import" not in text
    assert not re.search(r"url\((?!#)", text)


def test_ids_are_unique_and_every_reference_finds_one() -> None:
    text = html_text(book_content(sample(), "A4"))
    seen = _seen(text)
    assert [name for name, count in seen.ids.items() if count > 1] == []
    wanted = set(re.findall(r"url\(#([^)]+)\)", text)) | {link.removeprefix("#") for link in seen.links}
    assert wanted
    assert wanted <= set(seen.ids)


def test_every_cell_of_every_table_is_there() -> None:
    content = book_content(sample(), "A4")
    words = Counter(_seen(html_text(content)).words)
    cells = [
        cell_words(column, row[k])
        for section in content.sections
        for table in section.blocks
        if isinstance(table, Table)
        for row in table.rows
        for k, column in book_columns(table)
        if column.kind in ("text", "number", "quantity")
    ]
    wanted = Counter(cell for cell in cells if cell)
    assert sum(wanted.values()) > 500
    assert {cell: count for cell, count in wanted.items() if words[cell] < count} == {}


def test_every_drawing_is_inline() -> None:
    records = sample()
    drawings = len(records.stage_drawings) + len(records.strip_drawings) + len(records.socket_drawings)
    drawings += len(records.wiring_sheets["A4"]) + len(records.drill_sheets["A4"])
    assert _seen(html_text(book_content(records, "A4"))).tags["svg"] == drawings


def test_same_records_give_the_same_text() -> None:
    assert html_text(book_content(sample(), "A4")) == html_text(book_content(sample(), "A4"))
