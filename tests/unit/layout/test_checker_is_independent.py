"""The check of a plan must not lean on the code that made it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import lugwright.layout

FOLDER = Path(lugwright.layout.__path__[0])
MAY_IMPORT = {
    "lugwright.buildfile.build",
    "lugwright.catalogue.records",
    "lugwright.findings",
    "lugwright.layout.check_holes",
    "lugwright.layout.check_joints",
    "lugwright.layout.check_metal",
    "lugwright.layout.check_places",
    "lugwright.layout.check_routes",
    "lugwright.layout.check_shields",
    "lugwright.layout.check_stands",
    "lugwright.layout.check_volts",
    "lugwright.layout.check_wires",
    "lugwright.layout.hardware",  # catalogue look-up
    "lugwright.layout.insulation",  # rows of standards
    "lugwright.layout.results",
}


@pytest.mark.parametrize("name", sorted(path.stem for path in FOLDER.glob("check*.py")))
def test_the_checker_imports_records_and_facts_alone(name):
    tree = ast.parse((FOLDER / f"{name}.py").read_text(encoding="utf-8"))
    modules = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module}
    assert {m for m in modules if m.startswith("lugwright")} <= MAY_IMPORT


def test_the_checker_is_is_looked_at_whole():
    assert len(list(FOLDER.glob("check*.py"))) >= 9
