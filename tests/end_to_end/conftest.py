"""The demo builds and two more as first written, each planned once for all tests that look at the plan."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.planned_examples import copied_with_plan

from lugwright.workflow import Opened, open_build

HERE = Path(__file__).parent
BUILDS = sorted([*(HERE.parents[1] / "examples").glob("*.toml"), *(HERE / "specimens").glob("*.toml")])


@pytest.fixture(scope="session", params=BUILDS, ids=lambda path: path.stem)
def planned(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Opened:
    """Return a build with its plan beside it."""
    return open_build(copied_with_plan(request.param, tmp_path_factory.mktemp("planned")))
