"""A table of the book as a page shows it."""

from __future__ import annotations

from typing import Any

from lugwright.documents.book.blocks import Table, book_columns, cell_words


def shown_table(table: Table) -> dict[str, Any]:
    """Return heads and rows in words; ``number`` says that a column is set to the right."""
    shown = book_columns(table)
    return {
        "columns": [
            {
                "title": f"{column.title} [{column.unit}]" if column.unit else column.title,
                "number": column.kind in ("number", "quantity"),
            }
            for _, column in shown
        ],
        "rows": [[cell_words(column, row[place]) for place, column in shown] for row in table.rows],
    }
