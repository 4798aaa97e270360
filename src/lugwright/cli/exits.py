"""Exit codes, as documented."""

from __future__ import annotations

from lugwright.errors import (
    CircuitError,
    DocumentError,
    LugwrightError,
    NoIdlePoint,
    NoSteadyState,
    NoSuchPoint,
    NotYet,
    PlanError,
)

FINE = 0
FINDINGS = 1  # a finding of grade fault or danger
UNREADABLE = 2  # the command line or the build file
NO_RESULT = 3  # no certified result, no plan
NOT_WRITTEN = 4  # a file, page or drawing


class NotWritten(LugwrightError):
    """A file that was asked for could not be written."""


def code_of(error: LugwrightError) -> int:
    """Return the exit code an error leads to."""
    if isinstance(error, NoSuchPoint):
        return UNREADABLE
    if isinstance(error, NotYet):
        return FINDINGS
    if isinstance(error, NoIdlePoint | NoSteadyState | CircuitError | PlanError):
        return NO_RESULT
    if isinstance(error, NotWritten | DocumentError):
        return NOT_WRITTEN
    return UNREADABLE
