"""CSV tables: read back as they were written, units in the header."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace
from typing import get_args

from lugwright.buildfile.build import Fitted, Resistor, Tube
from lugwright.documents.book.blocks import READ, Column, Quantity, Table, with_columns
from lugwright.documents.book.circuit_tables import COUNTER, shopping_table
from lugwright.documents.book.records import BookRecords
from lugwright.documents.tables import all_tables, csv_text

from .book.sample_records import sample


def _rows(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline="")))


def _column(name: str, title: str) -> list[str]:
    head, *rows = _rows(all_tables(sample())[name])
    return [row[head.index(title)] for row in rows]


def test_awkward_text_comes_back_as_it_was() -> None:
    words = ('say "on", then\nwait', "a,b", "=1+1", "Ω µ −", "")
    table = Table((Column("words"), Column("cut", "mm", "number")), tuple((w, 1.5) for w in words))
    text = csv_text(table)
    assert text.endswith("\r\n")
    assert _rows(text) == [["words", "cut [mm]"], *([w, "1.5"] for w in words)]


def test_numbers_are_plain_and_columns_to_write_in_are_left_out() -> None:
    columns = (Column("point"), Column("expected", kind="quantity"), Column("volts", "V", "number", 1))
    rows = (("a", Quantity(97600.0, "ohm"), -42.25), ("b", Quantity(math.inf, "ohm"), None))
    assert _rows(csv_text(with_columns(Table(columns, rows), READ))) == [
        ["point", "expected", "volts [V]"], ["a", "97600", "-42.25"], ["b", "inf", ""],
    ]  # fmt: skip


def test_every_table_has_its_file() -> None:
    assert sorted(all_tables(sample())) == [
        "bias_range.csv", "cut_list.csv", "holes.csv", "idle.csv", "idle_parts.csv", "idle_setting.csv", "jobs.csv",
        "lugs.csv", "ohms.csv", "parts.csv", "power_up.csv", "ratings.csv", "shopping.csv", "tubes.csv",
        "unconfirmed.csv", "windings.csv", "wire_totals.csv", "wires.csv",
    ]  # fmt: skip
    assert sorted(all_tables(BookRecords(build=sample().build))) == ["parts.csv", "shopping.csv"]


def test_every_row_has_as_many_cells_as_the_header() -> None:
    for name, text in all_tables(sample()).items():
        widths = {len(row) for row in _rows(text)}
        assert len(widths) == 1, name


def test_every_part_wire_hole_and_reading_has_a_row() -> None:
    records = sample()
    assert records.plan is not None
    assert records.ohms_chart is not None
    assert _column("parts.csv", "part") == [part.name for part in records.build.parts]
    assert _column("wires.csv", "wire") == [f"W{wire.number}" for wire in records.plan.wires]
    assert len(_column("holes.csv", "face")) == len(records.holes)
    assert _column("ohms.csv", "point") == [reading.point for reading in records.ohms_chart.readings]
    assert _column("power_up.csv", "expected") == ["312", "-42.5"] * len(records.steps)


def test_every_lead_of_the_plan_is_in_the_lug_table_at_both_its_ends() -> None:
    plan = sample().plan
    assert plan is not None
    leads = [lead for lead in _column("lugs.csv", "lead") if lead]
    for name in (*(seat.part for seat in plan.seats), *(f"W{wire.number}" for wire in plan.wires)):
        assert leads.count(name) == 2, name


def test_shares_are_percent_of_the_limit_tightest_first() -> None:
    assert _column("ratings.csv", "used [%]") == ["81", "80", "10.1"]
    assert _column("ratings.csv", "limit is") == ["most", "least", "most"]


def test_the_shopping_list_has_tubes_sockets_and_strips_apart() -> None:
    build = sample().build
    rows = [row[1:] for row in _rows(all_tables(sample())["shopping.csv"])]
    tubes = [part for part in build.parts if isinstance(part.values, Tube)]
    assert tubes
    for part in tubes:
        for kind, value in (("tube", part.values.type.name), ("socket", part.values.socket)):
            (users,) = [row[2] for row in rows if row[:2] == [kind, value]]
            assert part.name in users.split(", ")
    (strips,) = [row for row in rows if row[0] == "terminal strip"]
    assert strips == ["terminal strip", "8 lugs, strip 9.5, foot at lug 4", "A, B, C, D"]


def test_the_shopping_list_is_sorted_as_drawers_are() -> None:
    build = sample().build
    one = next(part for part in build.parts if isinstance(part.values, Resistor))
    assert isinstance(one.values, Resistor)
    more = [replace(one, name=f"R{ohm}", values=replace(one.values, ohm=float(ohm))) for ohm in (470000, 1000)]
    more.append(replace(more[1], name="R999"))
    rows = [row[1:] for row in shopping_table(replace(build, parts=(*more, *build.parts))).rows]
    kinds = [str(kind) for kind, _, _ in rows]
    assert sorted(kinds, key=COUNTER.index) == kinds
    users = [str(users) for kind, _, users in rows if kind == "resistor"]
    assert (users[0], users[-1]) == ("R999, R1000", "R470000")
    assert len(users) > 2


def test_every_kind_of_part_has_its_place_in_the_shopping_list() -> None:
    kinds = {fitted.__name__.lower() for fitted in get_args(Fitted)} - {"bond"}
    assert kinds <= set(COUNTER)
