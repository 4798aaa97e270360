"""Cells as the book prints them, and tables put together for it."""

from __future__ import annotations

import math

import pytest

from lugwright.documents.book.blocks import (
    READ,
    Column,
    Quantity,
    Table,
    book_columns,
    cell_words,
    figure_size_mm,
    gathered,
    with_columns,
)
from lugwright.errors import DocumentError

NUMBER = Column("volts", "V", "number", 1)


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (None, ""),
        ("R3 *bold* <b>", "R3 *bold* <b>"),
        (-42.04, "−42.0"),
        (-0.04, "0.0"),
        (math.inf, "∞"),
        (Quantity(math.inf, "ohm"), "over range"),
        (Quantity(97600.0, "ohm"), "97.6 kΩ"),
        (Quantity(-42.5, "V"), "−42.5 V"),
        (Quantity(312.4, "V"), "312 V"),
        (Quantity(0.0321, "A"), "32.1 mA"),
        (Quantity(120.0, "Ω", "least "), "least 120 Ω"),
    ],
)
def test_cells_print_with_unit_and_true_minus(cell: object, words: str) -> None:
    assert cell_words(NUMBER, cell) == words  # type: ignore[arg-type]


def test_columns_without_a_word_are_left_out_but_never_those_to_write_in() -> None:
    table = with_columns(Table((Column("part"), Column("note")), (("R1", ""), ("R2", ""))), READ)
    assert [column.title for _, column in book_columns(table)] == ["part", "read"]


def test_leads_of_one_lug_are_gathered_in_one_row() -> None:
    rows = (("A lug 1", "B+1", "R1"), ("A lug 1", "B+1", "W2"), ("A lug 2", "", "spare"))
    assert gathered(Table((NUMBER,) * 3, rows), 2).rows == (("A lug 1", "B+1", "R1; W2"), ("A lug 2", "", "spare"))


def test_a_drawing_states_its_size() -> None:
    assert figure_size_mm('<svg xmlns="x" viewBox="0 0 1 1" width="277.5mm" height="180mm">') == (277.5, 180.0)
    with pytest.raises(DocumentError) as error:
        figure_size_mm("<svg/>")
    assert str(error.value) == (
        "a drawing without a size\n"
        "  found:  '<svg/>'\n"
        '  wanted: an svg element with width="...mm" and height="...mm"\n'
        "  do:     report this: the drawing was made wrongly"
    )
