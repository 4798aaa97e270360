"""The conversation of ``lugwright power-up --ask``: one line, one reading, one judgement."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from lugwright.cli.charts_command import step_head
from lugwright.cli.printing import paint, say
from lugwright.cli.readings import alarm_lines, at_once_words, stop_words, window_words
from lugwright.errors import LugwrightError

if TYPE_CHECKING:
    from lugwright.bringup.results import JudgedReading, Reading, Step
    from lugwright.findings import Finding
    from lugwright.workflow import Opened

LEAVE, YES, NO = ("q", "quit"), ("y", "yes"), ("n", "no")
TICK_KEYS = ("look", "polarity")  # each line of these is looked at by itself
READY = "All of that done, up to the readings"
LIVE_NOTE = "If the plug is in: switch off and pull it before you think about this or turn the chassis."
OFF_AGAIN = "Now switch off and pull the plug."
TRACE = "What explains the readings so far: lugwright trace FILE"
DARKER = "darker than behind a good build; no harm. Is it plugged in and switched on, each fuse whole, each tube in?"
LAMP = "It is (dark, dull, dim, lit, full, or its volts)"
HOW = (
    "Type what the meter shows: 203, 203 V, 98k2, -38.5, OL. Enter alone skips a reading, q leaves; all that was read "
    "is in the log."
)


def ask_step(opened: Opened, step: Step, *, meter: str) -> tuple[Finding, ...]:
    """Lead through one step; return what is off after it."""
    say("\n".join(step_head(step)))
    try:
        if _ready(step) and _readings(opened, step, meter=meter):
            _finish(opened, step)
    except click.Abort:
        say("\nLeft here. What was read is in the log.")
        if step.live:
            say(paint(LIVE_NOTE, "yellow", sys.stdout))
    return _off(opened, step)


def _ready(step: Step) -> bool:
    """Ask whether everything to be done is done."""
    lines = step.do if step.key in TICK_KEYS else (READY,)
    for line in lines:
        if not _yes(f"{line} [y/n]"):
            say("Put it right first. Nothing here hurries.")
            return False
    return True


def _yes(question: str, *, enter: bool | None = None) -> bool:
    """Ask until the answer is yes or no; ``enter``: what Enter alone means; q leaves, as it does at a reading."""
    while True:
        said = click.prompt(question, default="", show_default=False).strip().casefold()
        if said in LEAVE:
            raise click.Abort
        if said in YES or said in NO:
            return said in YES
        if not said and enter is not None:
            return enter
        say("Type y or n; q leaves.")


def _readings(opened: Opened, step: Step, *, meter: str) -> bool:
    """Ask for every reading; return whether to the end."""
    if step.lamp_window is not None and not _lamp(opened, step):
        return False
    if step.readings:
        say(HOW)
    for count, row in enumerate(step.readings, start=1):
        answer = _one(opened, step, row, f"{count}/{len(step.readings)} {_question(row)}", meter=meter)
        if not answer:
            return False
    return True


def _lamp(opened: Opened, step: Step) -> bool:
    """Ask how bright the limiter lamp settles; return whether to go on."""
    from lugwright.workflow import SaidReading, read_in

    while True:
        said = click.prompt(f"Limiter lamp: {step.lamp}. {LAMP}", default="", show_default=False).strip()
        if said.casefold() in LEAVE:
            raise click.Abort
        if not said:
            return True
        try:
            (judged,) = read_in(opened, [SaidReading("lamp", said)], step=step.key)
        except LugwrightError as error:
            say(str(error))
            continue
        if judged.burns:
            words = f"  brighter than behind a good build ({judged.window}). {at_once_words(judged)}"
            say(paint(words, "red", sys.stdout))
            say(f"  {TRACE}")
            return False
        say(f"  {judged.verdict}" + (f": {DARKER}" if judged.verdict == "low" else ""))
        return True


def _question(row: Reading) -> str:
    expected, low, high = window_words(row)
    stop = stop_words(row)
    words = f"{row.point}, {row.quantity}: about {expected}, {low} to {high}"
    return words + (f" ({row.note})" if row.note else "") + (f"; switch off {stop}" if stop else "")


def _one(opened: Opened, step: Step, row: Reading, question: str, *, meter: str) -> bool:
    """Ask for one reading until it is understood; return whether to go on with the next."""
    from lugwright.workflow import step_reading, stirred_up

    while True:
        said = click.prompt(question, default="", show_default=False).strip()
        if said.casefold() in LEAVE:
            raise click.Abort
        if not said:
            return True
        try:
            judged = step_reading(opened, step, row, said, meter=meter)
        except LugwrightError as error:
            say(str(error))
            continue
        stirred = stirred_up(opened, [judged])
        _say(row, judged, stirred)
        if judged.burns or any(each.burns for each in stirred):
            say(f"  {TRACE}")
            return False
        feed = next((r for r in step.readings if judged.doubt and r.joint == judged.feed and not r.at), None)
        if feed is not None:
            return _one(opened, step, feed, f"Again: {_question(feed)}", meter=meter)
        return (judged.verdict == "ok" and not stirred) or _go_on(judged)


def _say(row: Reading, judged: JudgedReading, stirred: Iterable[JudgedReading]) -> None:
    """Say what a reading means, and what burns, or may, at readings taken before because of it."""
    if judged.verdict == "ok" and not judged.burns:
        say("  ok")
    else:
        unit = f"; {judged.slip} would be right: is the unit so?" if judged.slip else ""
        say(paint(f"  {judged.off}: good builds show {judged.window}{unit}", "yellow", sys.stdout))
        if row.guards and not judged.burns:
            say(f"  The next step is closed until this is right: {row.guards}.")
    for line in (at_once_words(judged), *alarm_lines(stirred)):
        if line:
            say(paint(f"  {line}", "red", sys.stdout))


def _go_on(judged: JudgedReading) -> bool:
    if _yes("  Go on with the other readings of this step? [y/N]", enter=False):
        return True
    if judged.live:
        say(paint(f"  {LIVE_NOTE}", "yellow", sys.stdout))
    say(f"  {TRACE}")
    return False


def _finish(opened: Opened, step: Step) -> None:
    """Tick the step off where all that guards the next one is right."""
    from lugwright.workflow import power_up_now, step_done

    if step.live:
        say(OFF_AGAIN)
    step_done(opened, step.number)
    found = power_up_now(opened)
    if found.next and found.next <= step.number:
        say(f"Step {step.number} has readings to come, or some that are off: it stays open.")
    elif found.next and found.shown is not None:
        say(f"Step {step.number} done. Next: step {found.next}, {found.shown.title} ({found.shown.mains}).")
    else:
        say(f"Step {step.number} done. It was the last one.")


def _off(opened: Opened, step: Step) -> tuple[Finding, ...]:
    from lugwright.workflow import power_up_now, reading_findings

    state = next(s for s in power_up_now(opened).states if s.number == step.number)
    return reading_findings(state.off)
