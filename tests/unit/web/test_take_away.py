"""What is taken away without a book: named by the server, the same as the commands write."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from lugwright.errors import AskError
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk
from lugwright.workflow import exported, noted


def _asked(desk: Desk, what: str, **args: Any) -> Any:
    one = ASKED[what]
    return one.answer(desk, one.args.model_validate(args))


def _names(desk: Desk) -> list[str]:
    return [each["name"] for each in _asked(desk, "take away")]


def test_the_log_is_the_one_that_the_command_exports(desk: Desk, tmp_path: Path) -> None:
    assert "log.csv" not in _names(desk), "nothing is logged yet"
    noted(desk.opened, "a note, with a comma")
    for name in ("log.jsonl", "log.csv"):
        exported(desk.opened, tmp_path / name)
        assert _asked(desk, "taken away", name=name)["text"] == (tmp_path / name).read_bytes().decode()
    assert _asked(desk, "taken away", name="log.csv")["type"] == "text/csv"


def test_drawings_and_drill_plans_need_a_plan(desk: Desk) -> None:
    assert _names(desk) == [
        "wiring_side.svg", "top_side.svg", "drill_plate.dxf", "drill_front.dxf", "drill_rear.dxf", "plan.json",
    ]  # fmt: skip
    assert _asked(desk, "taken away", name="wiring_side.svg")["text"].startswith("<?xml")
    assert "\nHOLES\n" in _asked(desk, "taken away", name="drill_rear.dxf")["text"]
    plan = desk.path.with_suffix(".plan.json")
    assert json.loads(_asked(desk, "taken away", name="plan.json")["text"]) == json.loads(plan.read_bytes())
    plan.unlink()
    assert _names(desk) == []
    with pytest.raises(AskError) as error:
        _asked(desk, "taken away", name="wiring_side.svg")
    assert str(error.value) == (
        "there is no such file to take away\n"
        "  found:  wiring_side.svg\n"
        "  wanted: a plan or a log to make one of\n"
        "  do:     choose one on the page Book"
    )
