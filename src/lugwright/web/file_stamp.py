"""What tells whether a file is still the one that was read."""

from __future__ import annotations

from pathlib import Path

Stamp = tuple[int, ...]  # written when, renamed when, size, which
NO_FILE: Stamp = (0, 0, 0, 0)


def file_stamp(path: Path) -> Stamp:
    """Return another value after every change of a file, even if it was away for a moment and is back unwritten."""
    try:
        found = path.stat()
    except OSError:
        return NO_FILE
    return found.st_mtime_ns, found.st_ctime_ns, found.st_size, found.st_ino
