"""The book as a PDF. Words go to the typesetter as data, never as its own markup."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from importlib import resources
from typing import Any

from lugwright.documents.book.blocks import (
    Block,
    Box,
    Card,
    Content,
    Figure,
    Figures,
    Heading,
    Items,
    Lines,
    Paragraph,
    Section,
    Sheet,
    Table,
    alternative,
    book_columns,
    cell_words,
    figure_size_mm,
)
from lugwright.errors import DocumentError

_NO_SCALING = b"/PrintScaling/None/DisplayDocTitle true"
_PREFERENCES = re.compile(rb"/ViewerPreferences<<")
_TAIL = re.compile(
    rb"(?P<catalog><</Type/Catalog[^\n]*>>)\nendobj\n(?P<table>xref\n0 \d+\n[0-9nf\s]*trailer\n[^\n]*\n)"
    rb"startxref\n(?P<start>\d+)\n%%EOF\s*$"
)
_LONG_WORD = re.compile(r"\S{10,}")
_BREAK = "\u200b"
ENDLESS = 24  # letters; a word beyond this may break anywhere


def pdf_bytes(content: Content, paper: str) -> bytes:
    """Return the book as a PDF file; the same content gives the same bytes.

    ``paper`` is A4 or Letter and must be the one the content was made for.
    """
    if paper != content.paper:
        raise DocumentError(
            what="the book was made for another paper",
            found=paper,
            wanted=content.paper,
            do="gather the content again for this paper",
        )
    return without_scaling(_typeset(content))


def _typeset(content: Content) -> bytes:
    import typst

    drawings: dict[str, bytes] = {}
    book = json.dumps(_book(content, drawings), ensure_ascii=False, sort_keys=True)
    files: Any = {"main": resources.files(__package__).joinpath("book.typ").read_bytes(), **drawings}
    compiler = typst.Compiler(files, ignore_system_fonts=True, sys_inputs={"book": book})
    # Tagged, so that a screen reader finds headings, header cells and the words that stand for a drawing.
    pdf: bytes = compiler.compile(format="pdf", pdf_tags=True)  # type: ignore[assignment]
    return pdf


def without_scaling(pdf: bytes) -> bytes:
    """Return the PDF with the reader told not to scale it when printing: templates must come out at 1:1.

    The catalog is the last object of the file, so that nothing but the table of objects moves when it grows.
    """
    found = _TAIL.search(pdf, max(0, pdf.rfind(b"<</Type/Catalog")))
    catalog = found and _PREFERENCES.search(found["catalog"])
    if found is None or catalog is None or int(found["start"]) != found.start("table"):
        raise DocumentError(
            what="the printer cannot be told to leave the size alone",
            found="a PDF whose last object is not its catalog",
            wanted="the catalog, the table of objects and the end of the file, in this order",
            do="report this: templates from such a file may come out at another size",
        )
    at = found.start("catalog") + catalog.end()
    start = int(found["start"]) + len(_NO_SCALING)
    tail = pdf[at : found.start("start")] + str(start).encode() + pdf[found.end("start") :]
    return pdf[:at] + _NO_SCALING + tail


def _book(content: Content, drawings: dict[str, bytes]) -> dict[str, Any]:
    book = {
        "title": content.title,
        "subtitle": content.subtitle,
        "cautions": _box(content.cautions, drawings, False),
        "reminder": content.reminder,
        "sections": [_section(section, drawings) for section in content.sections],
    }
    broken: dict[str, Any] = _breakable(book)
    return broken | {"paper": content.paper, "name": content.title}


def _breakable(value: Any) -> Any:
    """Return words that may break where a column is too narrow: after a dot, dash or stroke, endless ones anywhere."""
    if isinstance(value, str):
        return _LONG_WORD.sub(lambda word: _broken(word[0]), value)
    if isinstance(value, dict):
        return {key: inner if key in ("file", "alt") else _breakable(inner) for key, inner in value.items()}
    return [_breakable(inner) for inner in value] if isinstance(value, list | tuple) else value


def _broken(word: str) -> str:
    return _BREAK.join(word) if len(word) > ENDLESS else re.sub(r"[._/-]", lambda mark: mark[0] + _BREAK, word)


def _section(section: Section, drawings: dict[str, bytes]) -> dict[str, Any]:
    return {
        "title": section.title,
        "landscape": section.landscape,
        "follows": section.follows,
        "reminder": section.hands_inside,
        "blocks": [_block(block, drawings, section.hands_inside) for block in section.blocks],
    }


def _block(block: Block, drawings: dict[str, bytes], reminder: bool) -> dict[str, Any]:
    return _MADE[type(block)](block, drawings, reminder)


def _box(box: Box, _drawings: dict[str, bytes], _reminder: bool) -> dict[str, Any]:
    return {"type": "box", "tone": box.tone, "title": box.title, "entries": box.entries}


def _drawn(block: Figure | Sheet, drawings: dict[str, bytes], reminder: bool) -> dict[str, Any]:
    width, height = figure_size_mm(block.svg)
    file = f"drawing-{len(drawings) + 1}.svg"
    drawings[file] = block.svg.encode()
    found = {"type": "figure", "file": file, "width": width, "height": height, "caption": block.caption,
             "alt": alternative(block)}  # fmt: skip
    if isinstance(block, Sheet):
        return found | {"type": "sheet", "paper": block.paper, "reminder": reminder}
    return found | {"most": block.most_mm, "grow": block.grow}


def _figures(block: Figures, drawings: dict[str, bytes], reminder: bool) -> dict[str, Any]:
    figures = [_drawn(figure, drawings, reminder) for figure in block.figures]
    beside = _block(block.beside, drawings, reminder) if block.beside else None
    return {"type": "figures", "figures": figures, "beside": beside}


def _card(card: Card, drawings: dict[str, bytes], reminder: bool) -> dict[str, Any]:
    blocks = [_block(block, drawings, reminder) for block in card.blocks]
    return {"type": "card", "number": card.number, "phase": card.phase, "title": card.title, "whole": card.whole,
            "blocks": blocks}  # fmt: skip


def _table(table: Table, _drawings: dict[str, bytes], _reminder: bool) -> dict[str, Any]:
    shown = book_columns(table)
    columns = [{"title": c.title, "unit": c.unit, "kind": c.kind, "grow": c.grow} for _, c in shown]
    rows = [[cell_words(column, row[k]) for k, column in shown] for row in table.rows]
    return {"type": "table", "columns": columns, "rows": rows}


_MADE: dict[type[Block], Callable[[Any, dict[str, bytes], bool], dict[str, Any]]] = {
    Heading: lambda b, _d, _r: {"type": "heading", "text": b.text, "new_page": b.new_page},
    Paragraph: lambda b, _d, _r: {"type": "paragraph", "text": b.text},
    Items: lambda b, _d, _r: {"type": "items", "entries": b.entries, "ticked": b.ticked},
    Lines: lambda b, _d, _r: {"type": "lines", "label": b.label, "count": b.count},
    Box: _box,
    Figure: _drawn,
    Figures: _figures,
    Sheet: _drawn,
    Card: _card,
    Table: _table,
}
