"""What something that is asked has before it: the build, opened, and a way to say how far it has come."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lugwright.web.file_stamp import Stamp, file_stamp
from lugwright.workflow import Opened, open_build, refreshed

MOST_OPEN = 8
Tell = Callable[[float, str], None]


@dataclass(frozen=True)
class Desk:
    """A build and a copy of it. ``command`` names the order being carried out, "" for a mere question."""

    path: Path
    copy: str
    command: str
    openings: Openings
    tell: Tell  # how far it has come, 0 to 1, and with what
    private: Path = Path()  # a folder that the server made for itself, for what is made to be taken away

    @property
    def opened(self) -> Opened:
        """Return the build as its files and its log are now."""
        return self.openings.opened(self.path, self.copy, (), self.command)

    def what_if(self, changes: tuple[str, ...]) -> Opened:
        """Return the build with some values changed, such as ``R17=220k``; nothing of it is written anywhere.

        Raises
        ------
        ChangeError
            A value cannot be replaced so.
        """
        return self.openings.opened(self.path, self.copy, changes, self.command)


class Openings:
    """Builds that stay open from one question to the next; opened again where a file has changed."""

    def __init__(self) -> None:
        self._open: OrderedDict[tuple[Path, str, tuple[str, ...]], tuple[tuple[Stamp, Stamp], Opened]] = OrderedDict()

    def opened(self, path: Path, copy: str, changes: tuple[str, ...], command: str) -> Opened:
        """Return a build as its files and its log are now."""
        key, stamps = (path, copy, changes), _stamps(path)
        kept = self._open.get(key)
        before = kept[1] if kept and kept[0] == stamps else open_build(path, changes=changes, serial=copy)
        now = refreshed(before, command=command)
        self._open[key] = (stamps, now)
        self._open.move_to_end(key)
        while len(self._open) > MOST_OPEN:
            self._open.popitem(last=False)
        return now


def _stamps(path: Path) -> tuple[Stamp, Stamp]:
    """Return what tells whether the build file or its plan is another one since."""
    return file_stamp(path), file_stamp(path.with_suffix(".plan.json"))
