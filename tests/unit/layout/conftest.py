"""A shorter search, for tests that ask whether a plan is valid and not how good it is."""

from __future__ import annotations

import pytest

from lugwright.layout import anneal


@pytest.fixture
def short_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the planner stop early."""
    monkeypatch.setattr(anneal, "MOVES_PER_PART", 50)
    monkeypatch.setattr(anneal, "LEAST_MOVES", 1000)
    monkeypatch.setattr(anneal, "START_MOVES_PER_PART", 20)
    monkeypatch.setattr(anneal, "LEAST_START_MOVES", 400)
