"""The builds that one server has: found when it starts, known to clients by name alone."""

from __future__ import annotations

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
        if not path.exists():
            raise FileAccessError(
                what=f"{path} cannot be opened",
                found="no such file or folder",
                wanted="a build file, or a folder with build files in it",
                do="write the path as it is, or go to that folder first",
            )
        inside = sorted(p for p in path.glob("*.toml") if _is_build(p)) if path.is_dir() else [path]
        found |= dict.fromkeys(each.resolve() for each in inside)
    return list(found)


def _is_build(path: Path) -> bool:
    """Return whether a file in a folder looks like a build file: others that are TOML lie beside it."""
    try:
        head = path.read_text(encoding="utf-8", errors="replace")[:20_000]
    except OSError:
        return False
    return path.is_file() and re.search(r"^format\s*=\s*1\b", head, re.MULTILINE) is not None


def _name(stem: str) -> str:
    return _NOT_IN_NAMES.sub("-", stem.casefold()).strip("-")[:40] or "build"
