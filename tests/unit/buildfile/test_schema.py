"""The JSON Schema of a build file lets every good build pass and stops what the reader stops."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lugwright.buildfile.records import PART_KINDS
from lugwright.buildfile.schema import json_schema

EXAMPLES = Path(__file__).parents[3] / "examples"
SCHEMA = json_schema()
TYPES = {
    "object": dict, "array": list, "string": str, "integer": int, "number": (int, float), "boolean": bool,
    "null": type(None),
}  # fmt: skip
UNDERSTOOD = {
    "$schema", "$defs", "$ref", "title", "description", "examples", "default", "type", "properties", "required",
    "additionalProperties", "patternProperties", "items", "minItems", "maxItems", "minLength", "maxLength", "pattern",
    "minimum", "maximum", "exclusiveMinimum", "minProperties", "const", "enum", "anyOf",
}  # fmt: skip


def wrong(schema: Any, value: Any, path: str = "") -> Iterator[str]:
    """Return where a value breaks a schema, for the keywords that our schema uses."""
    if schema is True:
        return
    assert set(schema) <= UNDERSTOOD, set(schema) - UNDERSTOOD
    if "$ref" in schema:
        yield from wrong(SCHEMA["$defs"][schema["$ref"].removeprefix("#/$defs/")], value, path)
    if "anyOf" in schema and all(list(wrong(one, value)) for one in schema["anyOf"]):
        yield f"{path}: none of several"
    if "type" in schema and not is_type(value, schema["type"]):
        yield f"{path}: not {schema['type']}"
        return
    if "const" in schema and value != schema["const"]:
        yield f"{path}: not {schema['const']}"
    if "enum" in schema and value not in schema["enum"]:
        yield f"{path}: not one of {schema['enum']}"
    yield from wrong_size(schema, value, path)
    yield from wrong_inside(schema, value, path)


def is_type(value: Any, name: str) -> bool:
    """Return whether a value is of a JSON type."""
    return isinstance(value, TYPES[name]) and (name == "boolean" or not isinstance(value, bool))


def wrong_size(schema: dict[str, Any], value: Any, path: str) -> Iterator[str]:
    """Return what is too small, too large, or not of the pattern."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        if value < schema.get("minimum", value) or value > schema.get("maximum", value):
            yield f"{path}: out of range"
        if "exclusiveMinimum" in schema and value <= schema["exclusiveMinimum"]:
            yield f"{path}: out of range"
    if isinstance(value, str | list):
        kind = "Length" if isinstance(value, str) else "Items"
        if not schema.get(f"min{kind}", 0) <= len(value) <= schema.get(f"max{kind}", len(value)):
            yield f"{path}: wrong length"
    if isinstance(value, str) and "pattern" in schema and not re.search(schema["pattern"], value):
        yield f"{path}: not of the pattern"


def wrong_inside(schema: dict[str, Any], value: Any, path: str) -> Iterator[str]:
    """Return what is wrong with the members of a list or a table."""
    if isinstance(value, list) and "items" in schema:
        for count, item in enumerate(value):
            yield from wrong(schema["items"], item, f"{path}[{count}]")
    if not isinstance(value, dict):
        return
    if len(value) < schema.get("minProperties", 0):
        yield f"{path}: too few"
    yield from (f"{path}.{key}: missing" for key in schema.get("required", ()) if key not in value)
    for key, item in value.items():
        fitting = [inner for pattern, inner in schema.get("patternProperties", {}).items() if re.search(pattern, key)]
        fitting += [schema["properties"][key]] if key in schema.get("properties", {}) else []
        rest = schema.get("additionalProperties", True)
        if not fitting and rest is False:
            yield f"{path}.{key}: unknown"
        for inner in fitting or ([] if rest is False else [rest]):
            yield from wrong(inner, item, f"{path}.{key}")


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda p: p.stem)
def test_every_demo_build_passes(path: Path) -> None:
    assert list(wrong(SCHEMA, tomllib.loads(path.read_text()))) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("format = 1", "format = 2"),
        ("format = 1", ""),
        ('title = "Dunlin 5"', ""),
        ("hertz = 60", "hertz = 55"),
        ("[strips]", "[stripes]"),
        ('["B+3", "V1a.plate"]', '["B+3"]'),
        ('["B+3", "V1a.plate"]', '"B+3"'),
        ("watts = 1, ends", "watts = -1, ends"),
        ("watts = 1, ends", "watt = 1, ends"),
        ('duty = "input"', 'duty = "inputs"'),
        ('taper = "audio"', 'taper = "log"'),
        ("inside = [330, 150, 55]", "inside = [330, 150]"),
    ],
)
def test_what_the_reader_stops_is_stopped(old: str, new: str) -> None:
    text = (EXAMPLES / "dunlin_5.toml").read_text()
    assert old in text
    assert list(wrong(SCHEMA, tomllib.loads(text.replace(old, new, 1)))) != []


def test_a_winding_may_be_described_by_its_impedances() -> None:
    winding = SCHEMA["$defs"]["WindingWritten"]
    assert list(wrong(winding, {"impedance": 6600, "ohms": 290, "ends": ["a", "b"]})) == []
    assert list(wrong(winding, {"impedance": [4, 8], "ohms": 1, "ends": ["a", "b", "c"]})) == []
    assert list(wrong(winding, {"impedance": "6k6", "ohms": 290, "ends": ["a", "b"]})) == [
        ".impedance: none of several"
    ]
    assert list(wrong(winding, {"impedance": [0], "ohms": 290, "ends": ["a", "b"]})) == [".impedance: none of several"]
    assert winding["properties"]["impedance"]["description"].startswith("ohms from the first end to each following one")


def test_every_kind_of_part_is_described_with_every_key() -> None:
    for model in PART_KINDS.values():
        described = SCHEMA["$defs"][model.__name__]
        assert set(described["properties"]) == set(model.model_fields)
        assert described["additionalProperties"] is False
