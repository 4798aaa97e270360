"""Blocks of the book, as a page shows them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from lugwright.documents.book.blocks import Block, Box, Figure, Heading, Paragraph, Table, alternative
from lugwright.documents.book.html import inline_drawing
from lugwright.web.shown.tables import table_words

Shown = dict[str, Any]
UNNAMED = "Figures"


def shown_blocks(blocks: Iterable[Block], before: str = "") -> list[Shown]:
    """Return blocks as the template blocks.html.jinja shows them; ``before`` keeps ids of drawings apart.

    A table is named by the heading it stands under.
    """
    found: list[Shown] = []
    name = UNNAMED
    for block in blocks:
        name = block.text if isinstance(block, Heading) else name
        found.append(_SHOWN[type(block)](block, name, before))
    return found


def _heading(block: Heading, name: str, before: str) -> Shown:
    return {"kind": "heading", "words": block.text}


def _paragraph(block: Paragraph, name: str, before: str) -> Shown:
    return {"kind": "paragraph", "words": block.text}


def _box(block: Box, name: str, before: str) -> Shown:
    return {"kind": "box", "tone": block.tone, "title": block.title, "entries": block.entries}


def _table(block: Table, name: str, before: str) -> Shown:
    words = table_words(block)
    columns = [{"title": head, "number": number} for head, number in zip(words.heads, words.numbers, strict=True)]
    return {"kind": "table", "name": name, "table": {"columns": columns, "rows": words.rows}}


def _figure(block: Figure, name: str, before: str) -> Shown:
    return {
        "kind": "figure",
        "name": before + block.name,
        "svg": inline_drawing(block, before),
        "caption": block.caption,
        "aloud": alternative(block),
    }


_SHOWN: dict[type, Callable[[Any, str, str], Shown]] = {
    Heading: _heading, Paragraph: _paragraph, Box: _box, Table: _table, Figure: _figure,
}  # fmt: skip
