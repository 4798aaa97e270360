"""Pictures of a build: kept in a folder beside it, or beside the build file itself; the log names them."""

from __future__ import annotations

import re
from pathlib import Path

from lugwright.errors import FileAccessError
from lugwright.workflow.files import write_whole

MOST_BYTES = 12 * 1024 * 1024  # of a picture
MOST_PHOTOS = 2000  # in the folder of one build
HEAD_BYTES = 12  # enough to tell what a file is
_NAME = re.compile(r"(?!\.)[^/\\\x00-\x1f]{1,250}\.(jpe?g|png|webp)", re.IGNORECASE)
_NOT_IN_NAMES = re.compile(r"[^a-z0-9]+")


def picture_kind(head: bytes) -> str:
    """Return what the first bytes of a file say it is: "jpg", "png" or "webp"; "" for anything else."""
    if head.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    return "webp" if head[:4] == b"RIFF" and head[8:12] == b"WEBP" else ""


def photo_folder(build_path: Path) -> Path:
    """Return where the pictures of a build are kept: NAME.photos beside NAME.toml."""
    return build_path.with_name(f"{build_path.stem}.photos")


def keep_photo(build_path: Path, content: bytes, *, about: str, command: str) -> str:
    """Write a picture into the folder of the build, whole or not at all; return the name it has there.

    The name is made of what it is about and of the order it comes from: sent twice, it is there once.

    Raises
    ------
    FileAccessError
        It is no picture, too large, one too many, or cannot be written.
    """
    kind, folder = picture_kind(content[:HEAD_BYTES]), photo_folder(build_path)
    if not kind or len(content) > MOST_BYTES:
        raise refused_picture(len(content) if kind else 0)
    if folder.exists() and (not folder.is_dir() or folder.is_symlink()):
        raise FileAccessError(
            what=f"{folder.name} is no folder of its own",
            found="a file or a link of that name",
            wanted=f"a folder beside {build_path.name}, or nothing: it is made then",
            do="move it away",
        )
    name = f"{_NOT_IN_NAMES.sub('-', about.casefold()).strip('-')[:40] or 'photo'}-{command[:12]}.{kind}"
    if (folder / name).exists():
        return name
    if folder.is_dir() and sum(1 for _ in folder.iterdir()) >= MOST_PHOTOS:
        raise FileAccessError(
            what=f"{folder.name} is full",
            found=f"{MOST_PHOTOS} pictures",
            wanted="fewer",
            do="move some of them away",
        )
    write_whole(folder / name, content)
    return name


def refused_picture(size: int = 0) -> FileAccessError:
    """Return why a file is not taken: ``size`` in bytes for one that is too large, 0 for one that is no picture."""
    most = MOST_BYTES // 1024 // 1024
    return FileAccessError(
        what="this picture is too large" if size else "this is no picture that can be kept",
        found=f"more than {most} MB" if size else "neither JPEG, PNG nor WebP",
        wanted=f"a JPEG, PNG or WebP of at most {most} MB",
        do="take it with fewer pixels" if size else "save it as JPEG",
    )


def photo_file(build_path: Path, name: str) -> Path | None:
    """Return a picture of a build by its name; None where there is none, or a file that is something else."""
    if not _NAME.fullmatch(name):
        return None
    for folder in (photo_folder(build_path), build_path.parent):
        path = folder / name
        if not path.is_file() or folder.is_symlink() or path.is_symlink():
            continue
        with path.open("rb") as file:
            if picture_kind(file.read(HEAD_BYTES)):
                return path
    return None
