"""Records become JSON, and the schema says what they become."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import pytest

from lugwright.cli.plain import as_plain, schema_of
from lugwright.findings import Grade


@dataclass(frozen=True)
class Inner:
    """One row."""

    name: str
    low_v: float


@dataclass(frozen=True)
class Outer:
    """Rows and more."""

    rows: tuple[Inner, ...]
    pair: tuple[str, float]
    by_name: Mapping[str, int]
    grade: Grade
    way: Literal["up", "down"]
    note: str | None = None


OUTER = Outer((Inner("B+1", 412.5), Inner("B+2", math.inf)), ("a", 1.0), {"x": 3}, Grade.FAULT, "up")


def test_a_record_becomes_dicts_and_lists() -> None:
    assert as_plain(OUTER) == {
        "rows": [{"name": "B+1", "low_v": 412.5}, {"name": "B+2", "low_v": None}],
        "pair": ["a", 1.0],
        "by_name": {"x": 3},
        "grade": "fault",
        "way": "up",
        "note": None,
    }


def test_schema_names_every_field_and_forbids_others() -> None:
    schema = schema_of(Outer)
    assert schema["$ref"] == "#/$defs/Outer"
    outer = schema["$defs"]["Outer"]
    assert outer["required"] == ["rows", "pair", "by_name", "grade", "way", "note"]
    assert outer["additionalProperties"] is False
    assert outer["properties"] == {
        "rows": {"type": "array", "items": {"$ref": "#/$defs/Inner"}},
        "pair": {
            "type": "array",
            "prefixItems": [{"type": "string"}, {"type": ["number", "null"]}],
            "minItems": 2,
            "maxItems": 2,
        },
        "by_name": {"type": "object", "additionalProperties": {"type": "integer"}},
        "grade": {"enum": ["danger", "fault", "doubt", "note"]},
        "way": {"enum": ["up", "down"]},
        "note": {"anyOf": [{"type": "string"}, {"type": "null"}]},
    }


def test_a_type_without_plain_form_is_refused() -> None:
    with pytest.raises(TypeError, match="no plain form of object"):
        as_plain(object())
    with pytest.raises(TypeError, match="no schema for"):
        schema_of(bytes)
