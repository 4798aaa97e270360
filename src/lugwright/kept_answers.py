"""Answers kept from one run to the next, each filed under everything it was computed from.

A build at the bench is opened many times a day and seldom changed in between. An answer is found again only
for the same question, word for word, asked of the same program files: there is nothing to renew by hand, and
the folder may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import platform
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any, Generic, Self, TypeVar, cast, overload

Answer = TypeVar("Answer")

CHOICE = "LUGWRIGHT_KEPT"  # a folder, or NOTHING
NOTHING = "none"
MOST = 60  # questions whose answers are kept; the one asked longest ago goes first
UNREADABLE = (OSError, pickle.PickleError, EOFError, AttributeError, ImportError, IndexError, TypeError, ValueError)
_PROGRAM = Path(__file__).parent
_ASKS_ONLY = {"cli", "web", "__pycache__"}  # has no part in what is kept
_OTHERS_MAY_WRITE = 0o022


@dataclass(frozen=True)
class KeptAnswers:
    """The answers to one question; without a folder none is found and none is kept."""

    folder: Path | None

    def recall(self, name: str) -> tuple[bool, Any]:
        """Return whether an answer was kept whole, and the answer."""
        if self.folder is None:
            return False, None
        file = _file(self.folder, name)
        try:
            if not all(_is_ours(path) for path in (self.folder.parent, self.folder, file)):
                return False, None
            content = file.read_bytes()
            mark, answer = content[:32], content[32:]
            return (True, pickle.loads(answer)) if hashlib.sha256(answer).digest() == mark else (False, None)
        except UNREADABLE:
            return False, None

    def keep(self, name: str, answer: object) -> None:
        """Keep an answer; where it cannot be written it will be computed again."""
        if self.folder is None:
            return
        with suppress(*UNREADABLE):
            content = pickle.dumps(answer, pickle.HIGHEST_PROTOCOL)
            if not self.folder.is_dir():
                self.folder.mkdir(parents=True, mode=0o700, exist_ok=True)
                _clear(self.folder)
            _write(_file(self.folder, name), hashlib.sha256(content).digest() + content)


class kept_property(Generic[Answer]):
    """A cached property whose answer is also kept for the next run; its owner says where as ``kept``."""

    def __init__(self, compute: Callable[[Any], Answer]) -> None:
        self._compute, self._name = compute, compute.__name__
        self.__doc__ = compute.__doc__

    @overload
    def __get__(self, owner: None, kind: type[Any]) -> Self: ...
    @overload
    def __get__(self, owner: object, kind: type[Any]) -> Answer: ...
    def __get__(self, owner: Any, kind: type[Any]) -> Self | Answer:
        """Return the answer that was kept, or a new one; the owner then has it among its own."""
        if owner is None:
            return self
        if not is_recalled(owner, self._name):
            answer = owner.__dict__[self._name] = self._compute(owner)
            owner.kept.keep(self._name, answer)
        return cast(Answer, owner.__dict__[self._name])


def is_recalled(owner: Any, name: str) -> bool:
    """Return whether an answer is there without computing: kept from another run, or worked out in this one."""
    if name in owner.__dict__:
        return True
    found, answer = cast(KeptAnswers, owner.kept).recall(name)
    if found:
        owner.__dict__[name] = answer
    return found


def kept_answers(question: object) -> KeptAnswers:
    """Return where the answers to a question are kept.

    Parameters
    ----------
    question : object
        Everything the answers depend on: records, tuples and mappings of words and numbers, to any depth.

    Returns
    -------
    KeptAnswers
        Of this very question, asked of this very program; without a folder where nothing is to be kept.
    """
    folder = _chosen_folder()
    if folder is None:
        return KeptAnswers(None)
    digest = hashlib.sha256(_program_mark())
    for word in _words(question):
        digest.update(word.encode("utf-8", "surrogatepass") + b"\0")
    return KeptAnswers(folder / digest.hexdigest()[:32])


def _chosen_folder() -> Path | None:
    chosen = os.environ.get(CHOICE, "")
    if chosen:
        return None if chosen == NOTHING else Path(chosen)
    usual = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    try:
        return (Path(usual) if usual else Path.home() / ".cache") / "lugwright" / "answers"
    except RuntimeError:  # nobody's home
        return None


@cache
def _program_mark() -> bytes:
    """Return a digest of every file that has a part in the answers, and of what they run on."""
    digest = hashlib.sha256(repr((sys.version, platform.machine(), _arithmetic())).encode())
    for folder, inner, names in os.walk(_PROGRAM):
        inner[:] = sorted(name for name in inner if name not in _ASKS_ONLY)
        for name in sorted(names):
            digest.update(name.encode())
            digest.update(Path(folder, name).read_bytes())
    return digest.digest()


def _arithmetic() -> str:
    from numpy import __version__

    return __version__


def _words(value: object) -> Iterator[str]:
    """Yield every word and number of a question, and what kind of thing each stands in."""
    yield type(value).__qualname__
    if isinstance(value, Enum):
        yield value.name
    elif isinstance(value, str):
        yield f"{len(value)}:{value}"
    elif value is None or isinstance(value, bool | int | float):
        yield repr(value)
    elif isinstance(value, Mapping):
        yield str(len(value))
        for key, inner in value.items():
            yield from _words(key)
            yield from _words(inner)
    elif isinstance(value, tuple | list):
        yield str(len(value))
        for inner in value:
            yield from _words(inner)
    elif is_dataclass(value):
        for each in fields(value):
            yield from _words(getattr(value, each.name))
    else:
        raise TypeError(f"no question is made of {type(value).__qualname__}")


def _file(folder: Path, name: str) -> Path:
    return folder / f"{name}.answer"


def _is_ours(path: Path) -> bool:
    """Return whether nobody else can have put it there: what is read back runs with our rights."""
    found = path.stat()
    return not hasattr(os, "getuid") or (found.st_uid == os.getuid() and not found.st_mode & _OTHERS_MAY_WRITE)


def _write(path: Path, content: bytes) -> None:
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise


def _clear(newest: Path) -> None:
    """Take away what was asked longest ago."""
    others = sorted((p for p in newest.parent.iterdir() if p != newest), key=lambda p: p.stat().st_mtime, reverse=True)
    for old in others[MOST - 1 :]:
        shutil.rmtree(old, ignore_errors=True)
