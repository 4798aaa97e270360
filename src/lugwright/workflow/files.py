"""Files written whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from lugwright.errors import FileAccessError


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole: into a temporary one beside it, then in its place; what is no file is written to as it is."""
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):
            path.write_bytes(content)
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            Path(temporary).chmod(0o644)
            Path(temporary).replace(path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise _refused(path, error) from error


def make_folder(path: Path) -> None:
    """Make a folder, before anything long is computed for it."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refused(path, error) from error


def _refused(path: Path, error: OSError) -> FileAccessError:
    return FileAccessError(
        what=f"{path} cannot be written",
        found=error.strerror or type(error).__name__,
        wanted="a folder this program may write to, with room left",
        do="choose another folder, or make room",
    )
