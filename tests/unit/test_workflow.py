"""What the workflow writes, and what it will not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from lugwright import workflow
from lugwright.errors import ChangeError, FileAccessError
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


def test_a_folder_that_cannot_be_made_stops_the_book_before_anything_is_computed(tmp_path: Path) -> None:
    path = Path(shutil.copy(DUNLIN, tmp_path))
    in_the_way = tmp_path / "taken"
    in_the_way.write_text("a file")
    said: list[str] = []
    with pytest.raises(FileAccessError) as refused:
        write_book(open_build(path), in_the_way, progress=said.append)
    assert str(refused.value) == (
        f"{in_the_way} cannot be written\n"
        "  found:  File exists\n"
        "  wanted: a folder this program may write to, with room left\n"
        "  do:     choose another folder, or make room"
    )
    assert said == []


def test_every_name_of_the_workflow_is_found_where_its_table_says() -> None:
    for name in workflow.__all__:
        assert getattr(workflow, name).__name__ == name
    with pytest.raises(AttributeError, match="no attribute 'open_bild'"):
        _ = workflow.open_bild
