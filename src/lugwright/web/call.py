"""Something asked that may take its time: whoever asked is told how far it is, and may end it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

Progress = Callable[[float, str], None]


def _nobody(*_: Any) -> None:
    """Be told, and do nothing."""


@dataclass(eq=False)
class Call:
    """What is asked once. ``name`` is what others are told who wait for it: ``the book of Godwit 40``."""

    progress: Progress = _nobody  # how far it is, 0 to 1, and with what
    waits: Callable[[str], None] = _nobody  # for what it waits; "" when its turn has come
    name: str = ""
    ended: bool = False  # nobody wants the answer any more
    _ending: Callable[[], None] | None = field(default=None, repr=False)

    def end(self) -> None:
        """End it, wherever it is: it gives no answer any more."""
        self.ended = True
        if self._ending is not None:
            self._ending()

    def ended_by(self, ending: Callable[[], None] | None) -> None:
        """Have this done when it is ended."""
        self._ending = ending


def telling(tell: Callable[[dict[str, Any]], None], *, waits: bool = True) -> Call:
    """Return a call that tells a tab how far it is, and for what it waits where that may take long."""
    return Call(
        lambda share, words: tell({"t": "progress", "share": share, "words": words}),
        (lambda words: tell({"t": "waits", "for": words})) if waits else _nobody,
    )
