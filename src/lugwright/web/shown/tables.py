"""Tables of the book, as a page shows them."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.documents.book.blocks import Table, book_columns, cell_words


@dataclass(frozen=True)
class TableWords:
    """Heads and cells in words; ``numbers``: whether a column holds figures."""

    heads: tuple[str, ...]
    numbers: tuple[bool, ...]
    rows: tuple[tuple[str, ...], ...]


def table_words(table: Table) -> TableWords:
    """Return a table in words; columns without a single word are left out."""
    columns = book_columns(table)
    return TableWords(
        tuple(f"{column.title}, {column.unit}" if column.unit else column.title for _, column in columns),
        tuple(column.kind in ("number", "quantity") for _, column in columns),
        tuple(tuple(cell_words(column, row[place]) for place, column in columns) for row in table.rows),
    )
