"""Whether the next step of the first power-up may be taken: what guards it has been read, and reads as it should."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lugwright.bringup.polar_parts import BURSTS
from lugwright.bringup.reading_text import window_text
from lugwright.bringup.results import JudgedReading, Reading, Step
from lugwright.findings import Finding, Grade

RULE = "step-not-yet"
SOURCE = "the readings of the steps before; see docs/how_to/first_power_up.md"
# steps of which somebody has to say that they are done -> what happens if they are not
TICKED = {"look": "what the eye finds in a minute burns in a second", "polarity": BURSTS}
DEADLY_TICKS = ("polarity",)
PLUG_IS_OUT = "with the plug out it costs nothing to find out why"
MOST_NAMED = 3


@dataclass(frozen=True)
class Guard:
    """One thing that has to be so before a later step; ``id`` by which it is passed over."""

    id: str
    step: Step
    reading: Reading | None  # None: the step has to be ticked off
    deadly: bool
    burns: str
    if_read: bool = False  # it closes the gate only where it was read, and is far off


def guards_before(steps: Sequence[Step], number: int) -> Iterator[Guard]:
    """Yield what guards a step, in order."""
    for step in steps:
        if step.number >= number:
            return
        yield from guards_of(step)


def guards_of(step: Step) -> Iterator[Guard]:
    """Yield what of a step guards those after it."""
    if step.key in TICKED:
        yield Guard(step.key, step, None, step.key in DEADLY_TICKS, TICKED[step.key])
    for reading in step.readings:
        if reading.guards:
            yield Guard(f"{step.key}: {reading.point}", step, reading, reading.deadly, reading.guards)
        elif not step.live:
            yield Guard(f"{step.key}: {reading.point}", step, reading, False, PLUG_IS_OUT, if_read=True)


def missing(
    guards: Iterable[Guard],
    taken: Mapping[tuple[str, str], JudgedReading],
    *,
    ticked: frozenset[str],
    passed_over: frozenset[str],
) -> tuple[Guard, ...]:
    """Return the guards that are not as they should be.

    ``taken`` holds readings by step and point of its chart, ``ticked`` the keys of steps that are done, and
    ``passed_over`` what somebody has gone on without: that counts for nothing where it can hurt or something burns.
    """
    return tuple(
        guard
        for guard in guards
        if not _met(guard, taken, ticked) and (never_passed(guard, taken) or guard.id not in passed_over)
    )


def never_passed(guard: Guard, taken: Mapping[tuple[str, str], JudgedReading]) -> bool:
    """Return whether no reason is good enough to go on: it can hurt, or something burns, or may, at what was read."""
    reading = None if guard.reading is None else taken.get((guard.step.key, guard.reading.point))
    return guard.deadly or (reading is not None and bool(reading.burns or reading.doubt))


def _met(guard: Guard, taken: Mapping[tuple[str, str], JudgedReading], ticked: frozenset[str]) -> bool:
    if guard.reading is None:
        return guard.step.key in ticked
    found = taken.get((guard.step.key, guard.reading.point))
    if guard.if_read and (found is None or not _far(found)):
        return True
    return found is not None and found.verdict == "ok" and not found.burns


def _far(taken: JudgedReading) -> bool:
    """Return whether a reading is outside its window by more than the window is wide: no good build reads that."""
    if taken.low is None or taken.high is None or taken.verdict == "ok":
        return False
    width = taken.high - taken.low
    room = width if math.isfinite(width) else 0.0
    return not taken.low - room <= taken.value <= taken.high + room


def refusals(guards: Iterable[Guard], taken: Mapping[tuple[str, str], JudgedReading]) -> tuple[Finding, ...]:
    """Return why a step may not be taken yet: readings off one by one, those not taken step by step."""
    found: list[Finding] = []
    by_step: dict[str, list[Guard]] = {}
    for guard in guards:
        reading = None if guard.reading is None else taken.get((guard.step.key, guard.reading.point))
        if guard.reading is None:
            found.append(_not_ticked(guard))
        elif reading is None:
            by_step.setdefault(guard.step.key, []).append(guard)
        else:
            found.append(_off(guard, guard.reading, reading))
    return (*found, *(_not_taken(left) for left in by_step.values()))


def _grade(guard: Guard) -> Grade:
    return Grade.DANGER if guard.deadly else Grade.FAULT


def _not_ticked(guard: Guard) -> Finding:
    step = guard.step
    return Finding(
        rule=RULE, grade=_grade(guard), what=f"step {step.number}, {step.title}, is not done",
        found="nobody has said that it is", wanted=f"every line of it looked at: {guard.burns}",
        do=f"lugwright power-up FILE --step {step.number}, and then with --done", source=SOURCE,
    )  # fmt: skip


def _off(guard: Guard, reading: Reading, taken: JudgedReading) -> Finding:
    step = guard.step
    again = taken.again or "read it once more; if it stays so, find out why before you go on"
    return Finding(
        rule=RULE, grade=_grade(guard), what=f"{reading.point} reads {taken.off}",
        found=f"{taken.shown} at step {step.number}, {step.title}", wanted=f"{taken.window}: {guard.burns}",
        do=f"{again}: lugwright trace FILE", source=SOURCE,
    )  # fmt: skip


def _not_taken(left: Sequence[Guard]) -> Finding:
    step = left[0].step
    names = [guard.reading.point for guard in left if guard.reading is not None]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    first = left[0].reading
    window = "" if first is None or len(left) > 1 else f"{_window(first)}: "
    deadliest = next((guard for guard in left if guard.deadly), left[0])
    return Finding(
        rule=RULE, grade=_grade(deadliest),
        what=f"step {step.number}, {step.title}: {len(names)} {'reading' if len(names) == 1 else 'readings'} to come",
        found=f"nothing at {'; '.join(names[:MOST_NAMED])}{more}", wanted=f"{window}{deadliest.burns}",
        do=f"take them: lugwright power-up FILE --step {step.number} --ask", source=SOURCE,
    )  # fmt: skip


def _window(reading: Reading) -> str:
    return window_text(reading.low, reading.high, reading.unit)


def burning(reading: Reading, value: float, *, off: bool) -> str:
    """Return why to switch off at once at what a meter shows, or to keep the plug out; "" where neither is so.

    Parameters
    ----------
    reading : Reading
        A row of the chart.
    value : float
        What the meter shows, in the unit of the row. [V or ohm]
    off : bool
        Whether that lies outside the window.

    Returns
    -------
    str
        What burns, or what a reading that is off can do to somebody.

    Source
    ------
    The limits of the row, `lugwright.bringup.burn_limits`.
    """
    if reading.stop_below is not None and value < reading.stop_below:
        return reading.burns_below
    if reading.stop_above is not None and value > reading.stop_above:
        return reading.burns_above
    return reading.guards if off and reading.deadly else ""
