"""What can be asked: its arguments, where it is answered, and how."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict

if TYPE_CHECKING:  # the server knows lanes by name and does not wait for what a desk needs
    from lugwright.web.desk import Desk

# lanes: quick answers; what is written at once; readings, behind the charts they are held to; what takes its time
PAGES, LOG, METER, LONG = "pages", "log", "meter", "long"


class Args(BaseModel):
    """Arguments as a client sends them: strictly typed, bounded, no others."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class NoArgs(Args):
    """Nothing."""


@dataclass(frozen=True)
class Asked:
    """One thing that can be asked or done. ``answer`` returns what JSON can hold."""

    name: str
    answer: Callable[[Desk, Any], Any]
    args: type[Args] = NoArgs
    lane: str = PAGES
    writes: bool = False  # it is a deed: kept by the client until it is stored, and carried out once
    words: str = ""  # what it is called by those who wait for it, "the book"; "" by its name
    afterwards: Callable[[], None] = lambda: None  # done once it has been answered
    meanwhile: Callable[[], Iterator[None]] = lambda: iter(())  # done piece by piece while nothing else is asked
