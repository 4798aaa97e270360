"""A planned Dunlin, and a desk at which it is asked things as a worker of the bench would."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk, Openings
from lugwright.workflow import open_build, write_plan

from .served import served

Ask = Callable[..., dict[str, Any]]
DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"


@pytest.fixture(scope="session")
def planned_dunlin(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo build with its plan beside it; copy it to write anything."""
    path = tmp_path_factory.mktemp("planned") / DUNLIN.name
    shutil.copy(DUNLIN, path)
    write_plan(open_build(path))
    return path


@pytest.fixture
def dunlin(planned_dunlin: Path, tmp_path: Path) -> Path:
    """Return a copy of it to work with; nothing is logged yet."""
    for each in (planned_dunlin, planned_dunlin.with_suffix(".plan.json")):
        shutil.copy(each, tmp_path)
    return tmp_path / planned_dunlin.name


@pytest.fixture(scope="module")
def folder(planned_dunlin: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of this module's own with the Dunlin, planned."""
    folder = tmp_path_factory.mktemp("served") / "builds"
    folder.mkdir()
    for each in (planned_dunlin, planned_dunlin.with_suffix(".plan.json")):
        shutil.copy(each, folder)
    return folder


@pytest.fixture(scope="module")
def port(folder: Path) -> Iterator[int]:
    """Return where that folder is served."""
    with served(folder) as found:
        yield found


@pytest.fixture
def desk(dunlin: Path) -> Desk:
    """Return a desk with that copy on it."""
    return Desk(dunlin, "", "", Openings(), lambda share, words: None)


@pytest.fixture
def ask(desk: Desk) -> Ask:
    """Return a function that asks this desk: ``ask("power up", step="ohms")``."""

    def asked(name: str, **args: Any) -> dict[str, Any]:
        one = ASKED[name]
        found: dict[str, Any] = one.answer(desk, one.args.model_validate(args))
        return found

    return asked
