"""The locator finds every key path where a person sees it."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.buildfile.locate import KeyPath, locate


@pytest.mark.parametrize(
    ("text", "path", "place"),
    [
        ("a = 1", ("a",), (1, 5)),
        ("a = 1", ("a", "="), (1, 1)),
        ("\n[b]\n  c = 'x'", ("b", "c"), (3, 7)),
        ("[b . c]\nd = 1", ("b", "c"), (1, 2)),
        ("[[b]]\nc = 1\n[[b]]\nc = 2", ("b", 1, "c"), (4, 5)),
        ("[[b]]\n[b.d]\ne = 1\n[[b]]\n[b.d]\ne = 2", ("b", 1, "d", "e"), (6, 5)),
        ("a = [1, [2,\n 3]]", ("a", 1, 1), (2, 2)),
        ("a = { b = { c = 1 }, d = 2 }", ("a", "d"), (1, 26)),
        ("a.b.c = 1", ("a", "b", "c"), (1, 9)),
        ('"a.b" = 1', ("a.b",), (1, 9)),
        ("'a\\b' = 1", ("a\\b",), (1, 9)),
        ('"\\U0001F600" = 1', ("\U0001f600",), (1, 16)),
        ('"a\tb" = 1', ("a\tb",), (1, 9)),
        ('a = """x\n]\n"""\nb = 1', ("b",), (4, 5)),
        ("a = '''\n[x]\n'''\r\nb = 1", ("b",), (4, 5)),
        ("# a = [\nb = 1", ("b",), (2, 5)),
        ("a = 1.5e3 # [\nb = 2024-01-02 03:04:05\nc = ''", ("c",), (3, 5)),
        ("a = 'x # y'\nb = 1", ("b",), (2, 5)),
        ("# \u2028\na = 1", ("a",), (2, 5)),
    ],
)
def test_a_key_path_stands_where_its_value_begins(text: str, path: KeyPath, place: tuple[int, int]) -> None:
    tomllib.loads(text)
    assert locate(text)[path] == place


def paths_of(value: Any, path: KeyPath = ()) -> set[KeyPath]:
    """Return every key path of a value."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return {path} | {found for key, inner in items for found in paths_of(inner, (*path, key))}


names = st.text("ab .#[]'é", min_size=1, max_size=4)
leaves = st.integers(-99, 99) | st.booleans() | st.text("ab,=#[]{}'.\n\"\\", max_size=6)
trees = st.recursive(leaves, lambda t: st.lists(t, max_size=3) | st.dictionaries(names, t, max_size=3), max_leaves=12)


def written(value: Any) -> str:
    """Return a value as inline TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list):
        return "[ " + ",\n".join(map(written, value)) + "]"
    return "{" + ", ".join(f"{quoted(k)} = {written(v)}" for k, v in value.items()) + "}"


def quoted(text: str) -> str:
    """Return a basic string."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


@settings(max_examples=150, derandomize=True, deadline=None)
@given(st.dictionaries(names, trees, max_size=4))
def test_no_key_path_of_any_file_is_missed(tree: dict[str, Any]) -> None:
    text = "\n".join(f"{quoted(key)} = {written(value)}" for key, value in tree.items())
    assert tomllib.loads(text) == tree
    found = {path for path in locate(text) if path[-1] != "="}
    assert found == paths_of(tree) - {()}
