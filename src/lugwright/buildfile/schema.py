"""JSON Schema of a build file, for editors that complete and check while one writes."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from lugwright.buildfile import records as w
from lugwright.buildfile.ready_made import READY_MADE
from lugwright.buildfile.stages import DUTIES


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a whole build file."""
    kinds: dict[str, type[BaseModel]] = {model.__name__: model for model in w.PART_KINDS.values()}
    tables: tuple[type[BaseModel], ...] = (
        w.HeadWritten,
        w.TubeWritten,
        w.ChassisWritten,
        w.PlaceWritten,
        w.StripWritten,
        w.BusWritten,
        w.StarWritten,
        w.PlanWritten,
    )
    definitions: dict[str, Any] = {}
    for model in (*kinds.values(), *tables):
        schema = model.model_json_schema(ref_template="#/$defs/{model}")
        definitions.update(schema.pop("$defs", {}))
        definitions[model.__name__] = schema
    parts = {f"^{letters}[0-9]{{1,4}}$": _any_of(letters) for letters in w.KIND_OF_LETTERS}
    stage = {
        "type": "object",
        "properties": {
            "use": {"type": "string", "examples": list(READY_MADE)},
            "title": {"type": "string"},
            "duty": {"enum": list(DUTIES)},
            "numbers": {"type": "integer", "minimum": 0},
            "joined": {"type": "array", "items": {"type": "array", "items": {"type": "string"}, "minItems": 2}},
        },
        "patternProperties": parts,
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Lugwright build file",
        "type": "object",
        "additionalProperties": False,
        "required": ["format", "build", "stage"],
        "properties": {
            "format": {"const": 1},
            "build": _ref("HeadWritten"),
            "tubes": _map({"anyOf": [{"type": "string"}, _ref("TubeWritten")]}),
            "stage": _map(stage),
            "ready": _map({"type": "object"}),
            "joints": _map({"type": "array", "items": {"type": "string"}, "minItems": 1}),
            "chassis": _ref("ChassisWritten"),
            "place": _map(_ref("PlaceWritten")),
            "strips": _map(_ref("StripWritten")),
            "bus": _map(_ref("BusWritten")),
            "star": _map(_ref("StarWritten")),
            "plan": _ref("PlanWritten"),
        },
        "$defs": dict(sorted(definitions.items())),
    }


def _any_of(letters: str) -> dict[str, Any]:
    names = [w.PART_KINDS[w.KIND_OF_LETTERS[letters]].__name__, *_ALSO.get(letters, ())]
    return _ref(names[0]) if len(names) == 1 else {"anyOf": [_ref(name) for name in names]}


_ALSO = {"R": ("PotWritten",), "C": ("CanWritten",), "CR": ("BridgeWritten", "ZenerWritten")}


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/$defs/{name}"}


def _map(values: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "additionalProperties": values}
