"""Records as plain JSON values, and the JSON Schema of those values, both from the types alone."""

from __future__ import annotations

import math
import types
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from numbers import Integral, Real
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

Plain = Any  # None, bool, int, float, str, list, dict


def as_plain(value: object) -> Plain:
    """Return a record as dicts, lists and numbers. A number that is not finite becomes null."""
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: as_plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): as_plain(item) for key, item in value.items()}
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Sequence | set | frozenset):
        return [as_plain(item) for item in (sorted(value) if isinstance(value, set | frozenset) else value)]
    raise TypeError(f"no plain form of {type(value).__name__}")


def schema_of(record: type) -> Plain:
    """Return the JSON Schema (2020-12) of what `as_plain` makes of a record type."""
    definitions: dict[str, Plain] = {}
    top = _schema(record, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": record.__name__,
        **top,
        "$defs": dict(sorted(definitions.items())),
    }


_SIMPLE: dict[Any, Plain] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": ["number", "null"]},  # null: over range, or not known
    type(None): {"type": "null"},
    Any: {},
    object: {},
}


def _schema(kind: Any, definitions: dict[str, Plain]) -> Plain:
    if kind in _SIMPLE:
        return _SIMPLE[kind]
    origin, arguments = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return {"anyOf": [_schema(one, definitions) for one in arguments]}
    if origin is Literal:
        return {"enum": list(arguments)}
    if origin is not None and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": _schema(arguments[1], definitions)}
    if origin is tuple and arguments[-1] is not ...:
        items = [_schema(one, definitions) for one in arguments]
        return {"type": "array", "prefixItems": items, "minItems": len(items), "maxItems": len(items)}
    if origin is not None and issubclass(origin, Sequence):
        return {"type": "array", "items": _schema(arguments[0], definitions)}
    if isinstance(kind, type) and issubclass(kind, Enum):
        return {"enum": [member.value for member in kind]}
    if is_dataclass(kind) and isinstance(kind, type):
        return _reference(kind, definitions)
    raise TypeError(f"no schema for {kind!r}")


def _reference(record: type, definitions: dict[str, Plain]) -> Plain:
    if record.__name__ not in definitions:
        definitions[record.__name__] = {}  # holds the place while records that contain it are written
        hints = get_type_hints(record)
        names = [field.name for field in fields(record)]
        text = (record.__doc__ or "").strip().partition("\n")[0]
        definitions[record.__name__] = {
            "type": "object",
            "description": text,
            "properties": {name: _schema(hints[name], definitions) for name in names},
            "required": names,
            "additionalProperties": False,
        }
    return {"$ref": f"#/$defs/{record.__name__}"}
