"""What the workflow writes, and what it will not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from lugwright.errors import ChangeError
from lugwright.workflow import open_build, write_book, write_plan

DUNLIN = Path(__file__).parents[2] / "examples" / "dunlin_5.toml"


def test_a_what_if_changes_no_file(tmp_path: Path) -> None:
    path = Path(shutil.copy(DUNLIN, tmp_path))
    opened = open_build(path, changes=["R4=2k2", "V2=6L6GC"])
    wanted = (
        "a what-if is not written to dunlin_5.plan.json\n"
        "  found:  R4=2k2, V2=6L6GC\n"
        "  wanted: the build as its file says\n"
        "  do:     make the change in the build file"
    )
    with pytest.raises(ChangeError) as plan:
        write_plan(opened)
    with pytest.raises(ChangeError) as book:
        write_book(opened, tmp_path / "book")
    assert str(plan.value) == str(book.value) == wanted
    assert [file.name for file in tmp_path.iterdir()] == ["dunlin_5.toml"]
    assert path.read_bytes() == DUNLIN.read_bytes()
