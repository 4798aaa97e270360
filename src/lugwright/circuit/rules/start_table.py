"""Rules of the start: each one file, each one line in the table."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from lugwright.buildfile.build import Build
from lugwright.circuit.operating import Idle, Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.circuit.rules.start_case import StartCase
from lugwright.circuit.rules.start_fuse import start_fuse
from lugwright.circuit.rules.start_surge import start_surge
from lugwright.circuit.starting import Start
from lugwright.errors import NoIdlePoint
from lugwright.findings import Finding, Grade, sorted_by_grade

RULES: tuple[Callable[[StartCase], Iterator[Checked]], ...] = (
    start_surge,
    start_fuse,
)


def start_ratings(build: Build, idle: Idle, cold: Idle, start: Start) -> tuple[tuple[Rating, ...], tuple[Finding, ...]]:
    """Return every figure of a start held against its limit, and what was found, worst first.

    Parameters
    ----------
    build : Build
        The amplifier.
    idle, cold : Idle
        Mains on without a signal, with warm and with cold tubes.
    start : Start
        Its first minute.

    Returns
    -------
    tuple
        Ratings in the order of the rules, findings by grade.
    """
    judged = StartCase(Case(build, idle, cold), start)
    checked = [item for rule in RULES for item in rule(judged)]
    rows = tuple(item for item in checked if isinstance(item, Rating))
    return rows, tuple(sorted_by_grade([item for item in checked if isinstance(item, Finding)]))


def start_not_followed(error: NoIdlePoint) -> Finding:
    """Return the note that the start of a build was not computed, so none of it was checked."""
    return Finding(
        rule="start-not-followed", grade=Grade.NOTE, part="", place=None,
        what="the first minute after switch-on could not be followed; surge and fuses were not checked",
        found=error.found, wanted=error.wanted, do=error.do,
    )  # fmt: skip
