"""Rows of a chart with what was read of them, as the power-up page shows them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from lugwright.bringup.results import Alarm, JudgedReading, PowerUp, Reading, StepState
from lugwright.documents.book.chart_tables import stop_words, window_words

INSIDE, TOO_HIGH, TOO_LOW = "inside", "too high", "too low"
SWITCH_OFF, CAN_HURT = "switch off now", "can hurt: keep the plug out"
IN_DOUBT = "in doubt: read its feed again"
_VERDICTS = {"ok": INSIDE, "high": TOO_HIGH, "low": TOO_LOW}
MARKS = {INSIDE: "●", TOO_HIGH: "▲", TOO_LOW: "▼", IN_DOUBT: "▼", SWITCH_OFF: "■", CAN_HURT: "■"}


@dataclass(frozen=True)
class RowWords:
    """One row of a chart. ``verdict``: "" before it is read."""

    id: str  # on the page
    place: str  # where both tips are held, as a reading is written down
    point: str
    quantity: str
    expected: str
    window: str
    stop: str  # "under 255 V: R15 gets more than its 5 W"
    note: str
    guards: str
    guards_too: bool  # the same as the row before
    deadly: bool
    tells: int
    red: str
    black: str
    verdict: str
    mark: str
    kind: str  # of the verdict: inside, off, burns, "to-come"
    shown: str
    time: str


def row_words(
    row: Reading, taken: JudgedReading | None, *, number: int, alarm: str = "", before: bool = False
) -> RowWords:
    """Return a row in words.

    ``alarm``: what to do at once, where something burns or hurts at what was read; ``before``: the row before guards
    the same.
    """
    expected, window = window_words(row)
    verdict = "" if taken is None else alarm or verdict_words(taken)
    return RowWords(
        f"row-{number}", place_words(row), row.point, row.quantity, expected, window, _stop(row), row.note, row.guards,
        before, row.deadly, row.tells, row.red or row.joint, row.black, verdict, MARKS.get(verdict, ""),
        kind_of(verdict), "" if taken is None else taken.shown, "" if taken is None else clock(taken.time),
    )  # fmt: skip


def alarm_words(live: bool) -> str:
    """Return what to do at once; ``live``: the plug is in."""
    return SWITCH_OFF if live else CAN_HURT


def verdict_words(reading: JudgedReading) -> str:
    """Return how a reading was judged, as the page says it."""
    if reading.doubt:
        return IN_DOUBT
    return _VERDICTS.get(reading.verdict, reading.verdict)


def kind_of(verdict: str) -> str:
    """Return what a verdict comes to, for how a row looks."""
    if verdict in (SWITCH_OFF, CAN_HURT):
        return "burns"
    return {"": "to-come", INSIDE: "inside", TOO_HIGH: "off", TOO_LOW: "off", IN_DOUBT: "off"}.get(verdict, "uncharted")


def place_words(row: Reading) -> str:
    """Return where a row is read, as a reading of it is written down."""
    return f"{row.red or row.joint} to {row.black}" + (f", {row.at}" if row.at else "")


def _stop(row: Reading) -> str:
    burns = "; ".join(dict.fromkeys(words for words in (row.burns_below, row.burns_above) if words))
    return f"{stop_words(row)}: {burns}" if burns else ""


def clock(time: str) -> str:
    """Return a time of the log as it is printed: day and minute, UTC."""
    return f"{time[:10]} {time[11:16]} UTC" if time else ""


def sections(found: PowerUp, alarms: Iterable[Alarm]) -> list[tuple[str, list[RowWords]]]:
    """Return the rows of the step shown under their headings."""
    if found.shown is None:
        return []
    number = found.shown.number
    at_once = {alarm.point: alarm_words(alarm.live) for alarm in alarms if alarm.number == number and not alarm.doubt}
    pairs = zip(found.shown.readings, found.readings, strict=True)
    rows, guards = [], ""
    for count, (row, taken) in enumerate(pairs):
        same = bool(guards) and row.guards == guards
        words = row_words(row, taken, number=count, alarm=at_once.get(row.point, ""), before=same)
        rows.append((row.section, words))
        guards = row.guards
    return [(name, [words for _, words in those]) for name, those in groupby(rows, key=lambda pair: pair[0])]


def state_words(state: StepState, following: int, shown: int) -> str:
    """Return how far a step has come."""
    words = [f"{state.taken} of {state.readings} read"] if state.readings else []
    words += [f"{len(state.off)} outside the window"] if state.off else []
    if state.passed:
        words.append("passed" if state.off else "done")
    elif state.number == following:
        words.append("next")
    if state.number == shown:
        words.append("shown below")
    return ", ".join(words)


def blocking(found: PowerUp, guarded: Sequence[int]) -> list[StepState]:
    """Return the steps in which something is left to do before the one shown; ``guarded``: those that guard others."""
    number = found.shown.number if found.shown else 0
    return [s for s in found.states if s.number < number and not s.passed and s.number in guarded]
