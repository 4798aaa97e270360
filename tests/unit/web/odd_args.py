"""Arguments drawn for anything that can be asked: by its schema, and past it."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st
from pydantic import BaseModel

NAMES = (
    "V1", "V1a", "V1a.plate", "R4", "R4.1", "C1", "A.1", "A", "W1", "W1.2", "S1", "T1", "B+1", "ground", "mains", "1",
    "no tubes", "strip A", "socket V1", "top", "before mains", "lamp", "R4=1k", "RV1=0.5", "V1=0", "203", "98k2", "OL",
    "0" * 32, "parts", "A4", "1e999", "nan", "-0", "1,5", "99999999999999999999 V",
)  # fmt: skip
ODD = (
    "", " ", "\0", "\x1b[31m", "../../../etc/passwd", "..\\..\\x", "/etc/passwd", "file:///etc/passwd", "%2e%2e%2f",
    "<script>alert(1)</script>", "{{ 7*7 }}", "${jndi}", "'; drop table event; --", "a" * 5000, "Ω" * 300, "\u202e",
    "\ud800", "𝔘" * 50, "=cmd|' /C calc'!A0", "R4=", "=", "R4=1k=2k", "con", "nul.txt", "٣", "1" * 400,
)  # fmt: skip
words = st.one_of(st.sampled_from(NAMES), st.sampled_from(ODD), st.text(max_size=40))
numbers = st.one_of(
    st.integers(-5, 300), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.sampled_from([10**40, -1])
)
anything = st.recursive(
    st.one_of(st.none(), st.booleans(), numbers, words),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(words, inner, max_size=4)),
    max_leaves=8,
)


def args_for(model: type[BaseModel]) -> st.SearchStrategy[Any]:
    """Return arguments: mostly such as the schema allows, some with a piece exchanged, added or left out, some wild."""
    schema = model.model_json_schema()
    fitting = _fitting(schema, schema.get("$defs", {}))
    names = st.one_of(words, st.sampled_from(list(schema.get("properties", {})) or ["args"]))
    spoiled = st.builds(lambda args, name, value: {**args, name: value}, fitting, names, anything)
    short = st.builds(lambda args, name: {key: args[key] for key in args if key != name}, fitting, names)
    return st.one_of(fitting, fitting, fitting, spoiled, spoiled, short, anything)


def _fitting(schema: dict[str, Any], defs: dict[str, Any]) -> st.SearchStrategy[Any]:
    if "$ref" in schema:
        return _fitting(defs[schema["$ref"].rpartition("/")[2]], defs)
    if "anyOf" in schema:
        return st.one_of([_fitting(each, defs) for each in schema["anyOf"]])
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    return _OF_TYPE[schema.get("type", "")](schema, defs)


def _object(schema: dict[str, Any], defs: dict[str, Any]) -> st.SearchStrategy[Any]:
    needed = set(schema.get("required", ()))
    fields = {name: _fitting(each, defs) for name, each in schema.get("properties", {}).items()}
    return st.fixed_dictionaries(
        {name: each for name, each in fields.items() if name in needed},
        optional={name: each for name, each in fields.items() if name not in needed},
    )


def _string(schema: dict[str, Any], defs: dict[str, Any]) -> st.SearchStrategy[Any]:
    if "pattern" in schema:
        return st.one_of(st.from_regex(schema["pattern"], fullmatch=True), words)
    longest, least = schema.get("maxLength", 400), schema.get("minLength", 0)
    return words.map(lambda text: text[:longest].ljust(least, "x"))


def _number(schema: dict[str, Any], defs: dict[str, Any]) -> st.SearchStrategy[Any]:
    low, high = schema.get("minimum", -1e6), schema.get("maximum", schema.get("exclusiveMaximum", 1e6))
    return st.floats(low, high, exclude_max="exclusiveMaximum" in schema)


def _array(schema: dict[str, Any], defs: dict[str, Any]) -> st.SearchStrategy[Any]:
    least = schema.get("minItems", 0)
    return st.lists(
        _fitting(schema.get("items", {}), defs), min_size=least, max_size=min(schema.get("maxItems", 5), least + 4)
    )


_OF_TYPE: dict[str, Any] = {
    "object": _object,
    "string": _string,
    "array": _array,
    "number": _number,
    "integer": lambda schema, defs: st.integers(schema.get("minimum", -9), min(schema.get("maximum", 60), 60)),
    "boolean": lambda schema, defs: st.booleans(),
    "null": lambda schema, defs: st.none(),
    "": lambda schema, defs: anything,
}
