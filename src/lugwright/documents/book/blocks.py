"""What a book is made of: one tree of sections and blocks that the PDF and the HTML are both printed from."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import NamedTuple

from lugwright.errors import DocumentError
from lugwright.quantities import with_unit

_SIZE = re.compile(r'<svg[^>]*? width="([0-9.]+)mm"[^>]*? height="([0-9.]+)mm"')

# Units that are printed with a prefix that fits the number; volts stay volts, as the meter shows them.
_SCALED = {"ohm": "Ω", "Ω": "Ω", "A": "A", "W": "W", "F": "F", "s": "s", "Hz": "Hz"}


class Quantity(NamedTuple):
    """A number with its own unit, for columns whose rows differ in unit."""

    value: float
    unit: str
    before: str = ""  # words before the number, in the book only


Cell = str | float | Quantity | None


@dataclass(frozen=True)
class Column:
    """One column. kind: text, number, quantity; blank and tick are filled in by the builder at the bench.

    ``digits`` behind the point; ``grow`` is the share of the width that is left over; ``in_book`` is False for a
    column that only the CSV file needs, ``in_csv`` for one that only the book needs.
    """

    title: str
    unit: str = ""
    kind: str = "text"
    digits: int = 1
    grow: int = 0
    in_book: bool = True
    in_csv: bool = True


@dataclass(frozen=True)
class Table:
    """Rows under named columns, one cell for every column."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True)
class Heading:
    """A heading within a section."""

    text: str
    new_page: bool = False


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True)
class Items:
    """A list; ``ticked`` puts an empty box before each entry."""

    entries: tuple[str, ...]
    ticked: bool = False


@dataclass(frozen=True)
class Box:
    """A framed text. tone: danger (thick frame), stop, note."""

    tone: str
    title: str
    entries: tuple[tuple[str, str], ...]  # words in bold, the rest


@dataclass(frozen=True)
class Figure:
    """A drawing among text, no larger than the page and no higher than ``most_mm``; enlarged up to ``grow`` times.

    ``instead`` says where a reader who cannot see the drawing finds the same in words.
    """

    name: str
    svg: str
    caption: str
    most_mm: float = 200.0
    grow: float = 1.0
    instead: str = ""


@dataclass(frozen=True)
class Figures:
    """Small drawings in a row, each as large as it says, on as many lines as they need.

    ``beside`` is set to the left of the first.
    """

    figures: tuple[Figure, ...]
    beside: Items | None = None


@dataclass(frozen=True)
class Sheet:
    """A drawing that has a page to itself and keeps its size. paper: A4, A3, Letter, Tabloid; landscape."""

    name: str
    svg: str
    caption: str
    paper: str
    instead: str = ""


@dataclass(frozen=True)
class Card:
    """A job card; ``whole`` when it is short enough to stand on one page."""

    number: int
    phase: str
    title: str
    blocks: tuple[Block, ...]
    whole: bool


@dataclass(frozen=True)
class Lines:
    """Empty lines for the builder's own notes."""

    label: str
    count: int


Block = Heading | Paragraph | Items | Box | Figure | Figures | Sheet | Card | Lines | Table


@dataclass(frozen=True)
class Section:
    """A chapter; ``hands_inside`` puts the reminder at the foot of its pages.

    One that ``follows`` may begin on the page where the one before it ends.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    hands_inside: bool = False
    landscape: bool = False
    follows: bool = False


@dataclass(frozen=True)
class Content:
    """A whole book."""

    title: str
    subtitle: tuple[str, ...]
    paper: str
    cautions: Box
    sections: tuple[Section, ...]
    reminder: str


def alternative(block: Figure | Sheet) -> str:
    """Return what is read aloud in place of a drawing."""
    return f"Drawing: {block.caption}. {block.instead}".strip()


def figure_size_mm(svg: str) -> tuple[float, float]:
    """Return width and height a drawing states.

    Parameters
    ----------
    svg : str
        SVG text with its measures in mm. [-]

    Returns
    -------
    tuple of float
        Width and height. [mm]

    Source
    ------
    The drawing's own first element.
    """
    found = _SIZE.search(svg)
    if found is None:
        raise DocumentError(
            what="a drawing without a size",
            found=repr(svg[:80]),
            wanted='an svg element with width="...mm" and height="...mm"',
            do="report this: the drawing was made wrongly",
        )
    return float(found[1]), float(found[2])


def cell_words(column: Column, cell: Cell) -> str:
    """Return a cell as the book prints it."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Quantity):
        return _quantity_words(cell)
    if not math.isfinite(cell):
        return "∞" if cell > 0 else "–"
    return _minus(f"{cell:.{column.digits}f}")


def _quantity_words(quantity: Quantity) -> str:
    value, unit, before = quantity
    if not math.isfinite(value):
        return before + ("over range" if unit == "ohm" else "∞")
    if unit in _SCALED:
        return before + _minus(with_unit(value, _SCALED[unit]))
    digits = 0 if abs(value) >= 100.0 else 1 if abs(value) >= 10.0 else 2
    return before + _minus(f"{value:.{digits}f} {unit}")


def _minus(words: str) -> str:
    """Return a number with a true minus sign, and no minus before a zero."""
    plain = words.removeprefix("-") if not re.search(r"[1-9]", words) else words
    return plain.replace("-", "−", 1)


def book_columns(table: Table) -> tuple[tuple[int, Column], ...]:
    """Return the columns the book shows, with their places in a row; one without a single word is left out."""
    return tuple(
        (k, column)
        for k, column in enumerate(table.columns)
        if column.in_book and (column.kind in ("tick", "blank") or any(row[k] not in ("", None) for row in table.rows))
    )


def with_columns(table: Table, *columns: Column) -> Table:
    """Return the table with empty columns to be filled in at the bench."""
    added = tuple(replace(column, in_csv=False) for column in columns)
    return Table((*table.columns, *added), tuple((*row, *([None] * len(added))) for row in table.rows))


def gathered(table: Table, count: int) -> Table:
    """Return the table with rows that agree in their first ``count`` cells made one; the last cells are joined."""
    groups: dict[tuple[Cell, ...], list[tuple[Cell, ...]]] = {}
    for row in table.rows:
        groups.setdefault(row[:count], []).append(row)
    rows = (
        (*rows[0][:-1], "; ".join(str(row[-1]) for row in rows if row[-1])) if len(rows) > 1 else rows[0]
        for rows in groups.values()
    )
    return Table(table.columns, tuple(rows))


READ = Column("read", kind="blank")
TICK = Column("done", kind="tick")
