"""The builds that one server has: found when it starts, known to clients by name alone."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from lugwright.errors import FileAccessError

MOST_BUILDS = 200
_NOT_IN_NAMES = re.compile(r"[^a-z0-9]+")


@dataclass(frozen=True)
class Shelf:
    """Build files by the names they have in addresses; no client can name another file."""

    files: Mapping[str, Path] = field(default_factory=dict)

    def __iter__(self) -> Iterator[str]:
        """Return the names, in alphabetical order."""
        return iter(self.files)

    def get(self, name: str) -> Path | None:
        """Return the build file of that name, None where there is none."""
        return self.files.get(name)


def shelf_of(paths: Iterable[Path]) -> Shelf:
    """Return the shelf of some build files, and of all build files in some folders.

    Raises
    ------
    FileAccessError
        One of them does not exist, there is no build file in them, or there are too many.
    """
    found: dict[str, Path] = {}
    for path in _files(paths):
        name = _name(path.stem)
        number = 1
        while (key := name if number == 1 else f"{name}-{number}") in found:
            number += 1
        found[key] = path
    if not found or len(found) > MOST_BUILDS:
        raise FileAccessError(
            what="there is nothing to put on the bench" if not found else "these are too many for one bench",
            found=f"{len(found)} build files",
            wanted=f"1 to {MOST_BUILDS} build files (.toml), or folders with such files in them",
            do="lugwright bench amp.toml",
        )
    return Shelf(dict(sorted(found.items())))


def _files(paths: Iterable[Path]) -> list[Path]:
    found: dict[Path, None] = {}
    for path in paths:
        try:
            inside = _builds_in(path) if path.is_dir() else [path]
            there = all(each.is_file() for each in inside)
        except OSError as error:
            raise _not_opened(path, error.strerror or type(error).__name__) from None
        if not there:
            raise _not_opened(path, "neither a file nor a folder" if path.exists() else "no such file or folder")
        found |= dict.fromkeys(each.resolve() for each in inside)
    for each in found:
        if not _is_text(str(each)):
            raise FileAccessError(
                what="a build file has a name that cannot be shown",
                found=ascii(str(each)),
                wanted="a name, and names of the folders above it, in UTF-8",
                do="rename it",
            )
    return list(found)


def _builds_in(folder: Path) -> list[Path]:
    names = sorted(each for each in os.listdir(folder) if each.endswith(".toml"))
    return [folder / name for name in names if _is_build(folder / name)]


def _is_build(path: Path) -> bool:
    """Return whether a file in a folder looks like a build file: others that are TOML lie beside it."""
    try:
        if not path.is_file():
            return False
        with path.open(encoding="utf-8", errors="replace") as file:
            head = file.read(20_000)
    except OSError:
        return False
    return re.search(r"^format\s*=\s*1\b", head, re.MULTILINE) is not None


def _is_text(name: str) -> bool:
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True


def _not_opened(path: Path, found: str) -> FileAccessError:
    return FileAccessError(
        what=f"{ascii(str(path))[1:-1] if not _is_text(str(path)) else path} cannot be opened",
        found=found,
        wanted="a build file, or a folder with build files in it",
        do="write the path as it is, or go to that folder first",
    )


def _name(stem: str) -> str:
    return _NOT_IN_NAMES.sub("-", stem.casefold()).strip("-")[:40] or "build"
