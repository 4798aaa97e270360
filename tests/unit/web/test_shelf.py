"""What is put on the bench, and what cannot be."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from lugwright.errors import FileAccessError
from lugwright.web import shelf
from lugwright.web.shelf import shelf_of

from .conftest import DUNLIN


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with one build."""
    shutil.copy(DUNLIN, tmp_path / "amp.toml")
    return tmp_path


def refused(*paths: Path) -> str:
    with pytest.raises(FileAccessError) as caught:
        shelf_of(paths)
    return str(caught.value)


ENDS = (
    "\n  wanted: a build file, or a folder with build files in it"
    "\n  do:     write the path as it is, or go to that folder first"
)


def test_names_come_from_the_files_and_are_never_the_same(folder: Path) -> None:
    for name in ("Amp .toml", "AMP.toml", "..toml", "Ümlaut & <b>.toml", "a" * 80 + ".toml"):
        shutil.copy(DUNLIN, folder / name)
    (folder / "tombi.toml").write_text("[files]\n")
    found = shelf_of([folder, folder / "amp.toml"])
    assert list(found) == sorted(["amp", "amp-2", "amp-3", "build", "mlaut-b", "a" * 40])
    assert len({*found.files.values()}) == 6
    assert found.get("../amp") is None


def test_a_link_is_the_file_it_leads_to(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    links = tmp_path_factory.mktemp("links")
    (links / "other.toml").symlink_to(folder / "amp.toml")
    (links / "amp.toml").symlink_to(folder / "amp.toml")
    (links / "nowhere.toml").symlink_to(links / "gone.toml")
    (links / "round.toml").symlink_to(links / "round.toml")
    assert list(shelf_of([links]).files.values()) == [folder / "amp.toml"]
    assert (
        refused(links / "nowhere.toml")
        == f"{links}/nowhere.toml cannot be opened\n  found:  no such file or folder" + ENDS
    )


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_what_is_no_file_is_not_waited_for(folder: Path) -> None:
    os.mkfifo(folder / "pipe.toml")
    (folder / "folder.toml").mkdir()
    assert list(shelf_of([folder])) == ["amp"]
    assert refused(folder / "pipe.toml") == (
        f"{folder}/pipe.toml cannot be opened\n  found:  neither a file nor a folder" + ENDS
    )
    assert refused(Path(os.devnull)).startswith("/dev/null cannot be opened\n  found:  neither a file nor a folder")


def test_a_folder_that_cannot_be_read_says_so(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def forbidden(path: Path) -> list[str]:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(shelf.os, "listdir", forbidden)
    assert refused(folder) == f"{folder} cannot be opened\n  found:  Permission denied" + ENDS


@pytest.mark.skipif(os.name != "posix", reason="names are text here")
def test_a_name_that_is_no_text_is_refused_in_text(folder: Path) -> None:
    odd = folder / os.fsdecode(b"\xff.toml")
    shutil.copy(DUNLIN, odd)
    assert refused(folder) == (
        f"a build file has a name that cannot be shown\n  found:  '{folder}/\\udcff.toml'\n"
        "  wanted: a name, and names of the folders above it, in UTF-8\n  do:     rename it"
    )
    assert refused(folder / os.fsdecode(b"\xfe")).startswith(f"{folder}/\\udcfe cannot be opened\n")


def test_two_hundred_builds_are_the_most(folder: Path) -> None:
    for number in range(199):
        (folder / f"n{number}.toml").write_text("format = 1\n")
    assert len(list(shelf_of([folder]))) == 200
    (folder / "one_more.toml").write_text("format = 1\n")
    assert refused(folder) == (
        "these are too many for one bench\n  found:  201 build files\n"
        "  wanted: 1 to 200 build files (.toml), or folders with such files in them\n  do:     lugwright bench amp.toml"
    )
