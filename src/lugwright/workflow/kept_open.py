"""An opened build that stays open while its log grows."""

from __future__ import annotations

import copy

from lugwright.workflow.bench import BenchLog
from lugwright.workflow.opened import Opened

OF_THE_LOG = ("bench_log", "plan_findings")  # answers that every entry of the log may change


def refreshed(opened: Opened, *, command: str = "") -> Opened:
    """Return the same build with its log as it is now; what the new entries do not touch is not computed again.

    Parameters
    ----------
    opened : Opened
        A build opened some time ago.
    command : str
        Names the order that is carried out next; what it writes is written once, however often it is given.

    Returns
    -------
    Opened
        Another one; the first is left as it is.

    Raises
    ------
    LogError
        The log is damaged, or none of ours.
    """
    log = BenchLog(opened.bench_log.path, opened.serial, command)
    if _predicts(log) != _predicts(opened.bench_log):
        fresh = Opened(
            opened.path, opened.readable, opened.findings, opened.changes, opened.serial, opened.unsolder,
            opened.as_stated, opened.mains_as_stated,
        )  # fmt: skip
    else:
        fresh = copy.copy(opened)
        for name in OF_THE_LOG:
            fresh.__dict__.pop(name, None)
    fresh.__dict__["bench_log"] = log
    return fresh


def _predicts(log: BenchLog) -> tuple[str, ...]:
    """Return what predictions hang on: which copy, and what was measured, fitted and set on it."""
    bench = log.measured
    measured = (each.id for each in bench.as_built.values())
    fitted = (each.id for each in bench.tubes.values())
    settings = (each.id for each in bench.settings.values())
    return log.copy, *measured, *fitted, *settings
