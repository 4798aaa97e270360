"""The record of one copy, out of its log, for the book."""

from __future__ import annotations

from lugwright.documents.book.records import BenchRecord, JobDone, StepDone
from lugwright.log.state import Bench
from lugwright.workflow.measuring import as_built_rows
from lugwright.workflow.opened import Opened
from lugwright.workflow.power_up import PHASE
from lugwright.workflow.readings import readings_now
from lugwright.workorder.results import WorkOrder


def bench_record(opened: Opened) -> BenchRecord | None:
    """Return what the log holds of the copy that is meant; None where it holds nothing of it.

    Raises
    ------
    LogError
        The log cannot be read.
    """
    log = opened.bench_log
    entries = [e for e in log.entries if e.copy == log.copy] if log.path.exists() else []
    if not entries:
        return None
    bench, order = log.bench, opened.work_order
    rows = as_built_rows(opened)[0]
    return BenchRecord(
        serial=log.copy,
        file=log.path.name,
        entries=len(entries),
        first=entries[0].time,
        last=entries[-1].time,
        other_copies=tuple(f"copy {serial}" for serial in log.copies if serial != log.copy),
        cards_in_all=len(order.jobs),
        jobs=_jobs(bench, order),
        steps=_steps(bench, opened),
        held=len(opened.as_built.used),
        as_built=tuple(row for row in rows if row.what in bench.as_built),
        fitted=tuple(row for row in rows if row.what not in bench.as_built),
        readings=readings_now(opened),
        notes=bench.notes,
        photos=bench.photos,
    )


def _jobs(bench: Bench, order: WorkOrder) -> tuple[JobDone, ...]:
    """Return the cards that are ticked off: those of the work order by number, then any it no longer has."""
    numbers = {(job.phase, job.title): job.number for job in order.jobs}
    done = [JobDone(numbers.get(key), *key, time) for key, (time, _) in bench.cards.items() if key[0] != PHASE]
    last = len(order.jobs) + 1
    return tuple(sorted(done, key=lambda job: (last if job.number is None else job.number, job.time)))


def _steps(bench: Bench, opened: Opened) -> tuple[StepDone, ...]:
    """Return the steps of the first power-up that are ticked off, in their order, then any the build no longer has."""
    times = {key: time for (phase, key), (time, _) in bench.cards.items() if phase == PHASE}
    if not times:
        return ()
    steps = {step.key: step for step in opened.power_up}
    done = [StepDone(s.number, s.title, s.mains, times[key]) for key, s in steps.items() if key in times]
    return (*done, *(StepDone(None, key, "", time) for key, time in times.items() if key not in steps))
