"""A function that returns a quantity says of what, from what, and on whose word."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "lugwright"
UNITS = ("v", "a", "ohm", "f", "h", "w", "s", "hz", "mm", "c", "db")


def _functions(tree: ast.AST) -> Iterator[ast.FunctionDef]:
    """Yield module functions and methods of classes, not functions inside functions."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef):
            yield node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from _functions(node)


def calculating_functions() -> list[tuple[str, ast.FunctionDef]]:
    """Return every public function whose name ends in a unit, with where it stands."""
    found = []
    for path in sorted(SOURCE.rglob("*.py")):
        for function in _functions(ast.parse(path.read_text(encoding="utf-8"))):
            is_property = any(isinstance(d, ast.Name) and "property" in d.id for d in function.decorator_list)
            last = function.name.rpartition("_")[2]
            if not function.name.startswith("_") and "_" in function.name and last in UNITS and not is_property:
                found.append((f"{path.relative_to(SOURCE)}:{function.lineno} {function.name}", function))
    return found


def missing_sections(function: ast.FunctionDef) -> list[str]:
    """Return the headings that its docstring should have and has not."""
    text = ast.get_docstring(function) or ""
    arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    takes_any = any(argument.arg not in ("self", "cls") for argument in arguments)
    wanted = [*(["Parameters"] if takes_any else []), "Returns", "Source"]
    return [name for name in wanted if not re.search(rf"^{name}\n-+$", text, re.MULTILINE)]


FUNCTIONS = calculating_functions()


def test_there_are_calculating_functions_to_look_at() -> None:
    assert len(FUNCTIONS) >= 5


@pytest.mark.parametrize("function", [f for _, f in FUNCTIONS], ids=[name for name, _ in FUNCTIONS])
def test_docstring_has_its_sections(function: ast.FunctionDef) -> None:
    assert missing_sections(function) == []


def test_a_missing_section_is_noticed() -> None:
    (function,) = ast.parse(
        'def idle_v(x: float) -> float:\n    """Return volts.\n\n    Returns\n    -------\n    """\n'
    ).body
    assert isinstance(function, ast.FunctionDef)
    assert missing_sections(function) == ["Parameters", "Source"]
