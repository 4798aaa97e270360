"""Fixtures for comparisons with outside references: the folder's SOURCE.toml and its rows."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def source(request: pytest.FixtureRequest) -> dict[str, Any]:
    """Return the SOURCE.toml beside the test: title, how it was read, and the tolerance stated up front."""
    path = Path(request.path).parent / "SOURCE.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))


@pytest.fixture
def tolerance(source: dict[str, Any]) -> dict[str, Any]:
    """Return the tolerances of the source."""
    found = source["tolerance"]
    assert found["why"]
    return dict(found)


@pytest.fixture
def rows(request: pytest.FixtureRequest) -> list[dict[str, str]]:
    """Return the rows of the data.csv beside the test."""
    with (Path(request.path).parent / "data.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
