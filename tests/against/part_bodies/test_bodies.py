"""Bodies of the catalogue against makers' tables: a part larger than its place in the plan does not fit."""

from __future__ import annotations

from typing import Any

from lugwright.catalogue.load import body_row
from lugwright.catalogue.records import BodyRow


def _row(line: dict[str, str]) -> BodyRow:
    rating, volts = float(line["rating"]), float(line["volts"])
    if "resistor" in line["kind"]:
        return body_row(line["kind"], watts=rating)
    return body_row(line["kind"], farad=rating, volts=volts)


def test_every_body_is_as_large_as_makers_say(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    assert len(rows) == 20
    room = tolerance["mm"]
    for line in rows:
        body = _row(line).body
        for found, name in ((body.diameter_mm, "diameter_mm"), (body.length_mm, "length_mm")):
            assert float(line[f"least_{name}"]) - room <= found <= float(line[f"most_{name}"]) + room, line


def test_limiting_volts_of_resistors_are_never_above_what_makers_give(rows: list[dict[str, str]]) -> None:
    limited = [line for line in rows if line["least_limit_v"]]
    assert len(limited) == 6
    for line in limited:
        assert float(line["least_limit_v"]) <= _row(line).volts <= float(line["most_limit_v"]), line
