"""Parts, what to buy, what to cut: as the tables of the book have them."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest

from lugwright.errors import AskError, LogError
from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.parts import PARTS, TABLE, TableArgs
from lugwright.web.desk import Desk
from lugwright.web.worker import checked_args


def rows_of(desk: Desk, name: str) -> list[list[str]]:
    text = TABLE.answer(desk, TableArgs.model_validate({"name": name}))["text"]
    return list(csv.reader(io.StringIO(text)))


def test_every_part_is_in_the_table(desk: Desk) -> None:
    shown: dict[str, Any] = PARTS.answer(desk, NoArgs())
    assert [row[0] for row in shown["parts"]["rows"]] == [part.name for part in desk.opened.build.parts]
    assert [column["title"] for column in shown["shopping"]["columns"]] == ["count", "kind", "value", "parts"]


def test_every_wire_of_the_plan_is_cut_once(desk: Desk) -> None:
    opened = desk.opened
    head, *rows = rows_of(desk, "cut_list")
    cut = [wire for row in rows for wire in row[head.index("wires")].split(", ")]
    laid = [f"W{w.number}" for w in opened.plan.wires if w.type != "lead"]
    assert sorted(cut) == sorted(laid)


def test_without_a_plan_there_is_no_cut_list_and_the_page_says_why(desk: Desk) -> None:
    desk.path.with_suffix(".plan.json").unlink()
    shown = PARTS.answer(desk, NoArgs())
    assert shown["no_cut_list"] == {"what": "there is no plan to tick off", "do": "plan first: lugwright plan FILE"}
    assert shown["shopping"]["rows"]
    with pytest.raises(LogError):
        rows_of(desk, "wires")


def test_no_other_table_can_be_asked_for() -> None:
    with pytest.raises(AskError) as refused:
        checked_args(TABLE, {"name": "../../etc/passwd"})
    assert refused.value.found == ("name: input should be 'parts', 'shopping', 'cut_list', 'wire_totals' or 'wires'")
