"""Parts, what to buy, what to cut: the tables of the book."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

from lugwright.documents.book.blocks import Table
from lugwright.documents.book.circuit_tables import parts_table, shopping_table
from lugwright.documents.book.wiring_tables import cut_table, totals_table, wires_table
from lugwright.documents.tables import csv_text
from lugwright.errors import LugwrightError
from lugwright.web.asked.asked import Args, Asked, NoArgs
from lugwright.web.asked.shown_table import shown_table
from lugwright.web.desk import Desk
from lugwright.workflow import Opened, where_it_stands

TABLES: dict[str, Callable[[Opened], Table]] = {
    "parts": lambda opened: parts_table(opened.written),
    "shopping": lambda opened: shopping_table(_placed(opened)),
    "cut_list": lambda opened: cut_table(_planned(opened).work_order),
    "wire_totals": lambda opened: totals_table(_planned(opened).work_order),
    "wires": lambda opened: wires_table(_planned(opened).plan, _planned(opened).work_order),
}


class TableArgs(Args):
    """Which table."""

    name: Literal["parts", "shopping", "cut_list", "wire_totals", "wires"]


def _planned(opened: Opened) -> Opened:
    """Return the build, LogError where its plan has to be made first."""
    where_it_stands(opened)
    return opened


def _placed(opened: Opened) -> Any:
    """Return the build with its strips in place, as far as they are known."""
    return opened.build if opened.plan_path.exists() or not opened.written.left_open else opened.written


def _parts(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    found: dict[str, Any] = {name: shown_table(TABLES[name](opened)) for name in ("parts", "shopping")}
    try:
        found |= {name: shown_table(TABLES[name](opened)) for name in ("cut_list", "wire_totals")}
    except LugwrightError as error:
        return {**found, "no_cut_list": {"what": error.what, "do": error.do}}
    return {**found, "no_cut_list": None}


def _table(desk: Desk, args: TableArgs) -> dict[str, Any]:
    return {"text": csv_text(TABLES[args.name](desk.opened))}


PARTS = Asked("parts", _parts)
TABLE = Asked("table", _table, TableArgs)
