"""Plain tables, a little color on a terminal, findings, progress."""

from __future__ import annotations

import os
import re
import shlex
import sys
import threading
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TextIO

import click

from lugwright.findings import Finding, Grade, sorted_by_grade

SLOW_S = 1.0
BUILD_FILE = "lugwright.build_file"  # where a command keeps the name that was typed
_THIS_FILE = re.compile(r"\b(lugwright [a-z-]+) FILE\b")
_GRADE_COLOR = {Grade.DANGER: "red", Grade.FAULT: "red", Grade.DOUBT: "yellow", Grade.NOTE: "cyan"}


def paint(text: str, color: str, stream: TextIO) -> str:
    """Return the text in color on a terminal; as it is elsewhere or when NO_COLOR is set."""
    if os.environ.get("NO_COLOR") or not stream.isatty():
        return text
    return click.style(text, fg=color, bold=True)


def say(text: str, *, err: bool = False) -> None:
    """Print text; commands in it name the build file that was typed, ready to be typed again."""
    context = click.get_current_context(silent=True)
    typed = context.meta.get(BUILD_FILE) if context is not None else None
    if typed is not None:
        text = _THIS_FILE.sub(lambda found: f"{found[1]} {shlex.quote(typed)}", text)
    click.echo(text, err=err)


def table(head: Sequence[str], rows: Iterable[Sequence[str]], *, right: str = "") -> str:
    """Return an aligned table; ``right`` holds an "r" at each column that is set flush right."""
    lines = [list(head), *(list(row) for row in rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    flags = right.ljust(len(head), "l")

    def put(line: Sequence[str]) -> str:
        cells = (
            text.rjust(width) if flag == "r" else text.ljust(width)
            for text, width, flag in zip(line, widths, flags, strict=True)
        )
        return "  ".join(cells).rstrip()

    return "\n".join([put(lines[0]), "  ".join("-" * width for width in widths), *(put(line) for line in lines[1:])])


def print_findings(findings: Iterable[Finding]) -> None:
    """Print findings to stderr, worst first."""
    for finding in sorted_by_grade(list(findings)):
        grade = finding.grade.value
        text = str(finding)
        head, mark, rest = text.partition(f"{grade}: ")
        say(head + paint(mark.rstrip(), _GRADE_COLOR[finding.grade], sys.stderr) + " " + rest, err=True)


class Progress:
    """Says on stderr what is being worked on, once it has taken longer than a second."""

    def __init__(self) -> None:
        self._began_s = time.monotonic()
        self._waiting: threading.Timer | None = None

    def __call__(self, what: str) -> None:
        """Start something; it is announced at once if the second has passed, else when it passes."""
        self.stop()
        left_s = self._began_s + SLOW_S - time.monotonic()
        if left_s <= 0.0:
            self._say(what)
            return
        self._waiting = threading.Timer(left_s, self._say, (what,))
        self._waiting.daemon = True
        self._waiting.start()

    def stop(self) -> None:
        """Say nothing more of what was started last."""
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    @staticmethod
    def _say(what: str) -> None:
        click.echo(f"{what} ...", err=True)


@contextmanager
def at_work(what: str = "") -> Iterator[Progress]:
    """Announce work that takes longer than a second; yield what announces its next part."""
    progress = Progress()
    if what:
        progress(what)
    try:
        yield progress
    finally:
        progress.stop()
