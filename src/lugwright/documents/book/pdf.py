"""The book as a PDF. Words go to the typesetter as data, never as its own markup."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from importlib import resources
from typing import Any

from lugwright.documents.book.blocks import (
    Block,
    Box,
    Card,
    Content,
    Figure,
    Heading,
    Items,
    Lines,
    Paragraph,
    Section,
    Sheet,
    Table,
    book_columns,
    cell_words,
    figure_size_mm,
)
from lugwright.errors import DocumentError


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
    # Untagged: tags make the file six times as large and several seconds slower; the HTML is the readable twin.
    pdf: bytes = compiler.compile(format="pdf", pdf_tags=False)  # type: ignore[assignment]
    return pdf


def without_scaling(pdf: bytes) -> bytes:
    """Return the PDF with the reader told not to scale it when printing: templates must come out at 1:1."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import NameObject

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf)))
    writer.create_viewer_preferences()[NameObject("/PrintScaling")] = NameObject("/None")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _book(content: Content, drawings: dict[str, bytes]) -> dict[str, Any]:
    return {
        "title": content.title,
        "subtitle": content.subtitle,
        "paper": content.paper,
        "cautions": _box(content.cautions, drawings, False),
        "reminder": content.reminder,
        "sections": [_section(section, drawings) for section in content.sections],
    }


def _section(section: Section, drawings: dict[str, bytes]) -> dict[str, Any]:
    return {
        "title": section.title,
        "landscape": section.landscape,
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
    found = {"type": "figure", "file": file, "width": width, "height": height, "caption": block.caption}
    if isinstance(block, Sheet):
        return found | {"type": "sheet", "paper": block.paper, "reminder": reminder}
    return found | {"most": block.most_mm, "grow": block.grow}


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
    Sheet: _drawn,
    Card: _card,
    Table: _table,
}
