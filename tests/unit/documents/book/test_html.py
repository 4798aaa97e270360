"""The HTML: the same book, self-contained, nothing of a builder's read as markup."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

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
        self.headings: list[int] = []
        self.attributes: list[tuple[str, dict[str, str]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes.append((tag, {name: str(value) for name, value in attrs}))
        if len(tag) == 2 and tag[0] == "h" and tag[1].isdigit():
            self.headings.append(int(tag[1]))
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


def test_headings_go_down_one_level_at_a_time() -> None:
    levels = _seen(html_text(book_content(sample(), "A4"))).headings
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert max(levels) == 3
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_what_scrolls_can_be_reached_by_keyboard_and_has_a_name() -> None:
    seen = _seen(html_text(book_content(sample(), "A4"))).attributes
    boxes = [found for tag, found in seen if tag == "figure" or found.get("class") == "wide"]
    assert len(boxes) > 20
    assert all(found["tabindex"] == "0" and found["aria-label"] for found in boxes)


def test_every_drawing_is_said_in_words_and_every_header_cell_names_its_column() -> None:
    seen = _seen(html_text(book_content(sample(), "A4"))).attributes
    drawings = [found for tag, found in seen if tag == "svg"]
    assert drawings
    assert all(found["role"] == "img" and found["aria-label"].startswith("Drawing: ") for found in drawings)
    assert all(found["scope"] == "col" for tag, found in seen if tag == "th")


def test_words_of_a_builder_in_a_drawings_name_stay_words() -> None:
    records = sample()
    named = tuple(replace(drawing, title=HOSTILE) for drawing in records.stage_drawings)
    seen = _seen(html_text(book_content(replace(records, stage_drawings=named), "A4")))
    assert any(HOSTILE in found.get("aria-label", "") for tag, found in seen.attributes if tag == "svg")
