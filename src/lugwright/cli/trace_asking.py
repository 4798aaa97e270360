"""The conversation of ``lugwright trace --ask``: one reading or one look after the other until something is found."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from lugwright.cli.meanwhile import meanwhile
from lugwright.cli.printing import paint, say
from lugwright.cli.trace_text import next_lines, signs_text, tracing_text

if TYPE_CHECKING:
    from lugwright.bringup.trace_results import NextWords, Tracing
    from lugwright.workflow import FaultBench

_BEGIN = (
    "Type what the meter shows, or yes or no to a look; 'skip' for another point, 'again' to read the whole list, "
    "'stop' to leave. A point of your own: V1 pin 6 = 203 V, with the step before a colon where it is another one: "
    "ohms: V1 pin 6 = 98k. Something you see or hear: heater dark V2, no hum; 'signs' lists them."
)
_STOP, _SKIP = ("stop", "quit", "exit", "q"), ("skip", "s", "")
_YES, _NO, _NOT = ("yes", "y"), ("no", "n"), ("no ", "not ")
MORE = 3  # readings proposed besides those that were passed over
SIGN, LAMP = "sign", "lamp"


def asked(bench: FaultBench, found: Tracing, at: str) -> Tracing:
    """Ask for readings until something is found, nothing is left to read or nobody answers."""
    say(f"{_BEGIN}\n\n{tracing_text(found)}")
    skipped: set[tuple[str, ...]] = set()
    while not (found.readings and found.state in ("found", "look", "good")):
        ahead = _ahead(found, skipped)
        if ahead is None:
            say("Nothing is left to read that would tell more.")
            break
        with meanwhile(bench.work_ahead()):
            answer = click.prompt(f"\n{_question(ahead)}", default="", show_default=False).strip()
        word = answer.casefold()
        if word in _STOP:
            break
        if word == "again":
            say(tracing_text(found))
        elif word == "signs":
            say(signs_text(bench.signs()))
        elif word in _SKIP:
            skipped.add(_place(ahead))
            found = bench.tracing(at=at, count=len(skipped) + MORE)
            if (other := _ahead(found, skipped)) is not None:
                say("\n".join(next_lines(other)))
        elif _taken_in(bench, ahead, answer, at):
            found = bench.tracing(at=at, count=len(skipped) + MORE)
            say(f"\n{tracing_text(found, readings=False)}")
    return found


def _ahead(found: Tracing, skipped: set[tuple[str, ...]]) -> NextWords | None:
    """Return the most telling reading that was not passed over, None where none is left."""
    return next((n for n in found.next if _place(n) not in skipped), None)


def _question(ahead: NextWords) -> str:
    if ahead.quantity == LAMP:
        return ahead.point
    return f"{ahead.red}, yes or no ({ahead.point})" if ahead.quantity == SIGN else f"{ahead.point}, {ahead.quantity}"


def _taken_in(bench: FaultBench, ahead: NextWords, answer: str, at: str) -> bool:
    """Take what was read or seen and write it into the log; say why not where it cannot be understood."""
    from lugwright.errors import LugwrightError

    word = answer.casefold()
    try:
        if ahead.quantity == LAMP and "=" not in answer:
            bench.take(f"{ahead.step}: {LAMP} = {answer}", at or ahead.step, write=True)
        elif ahead.quantity == SIGN and word in (*_YES, *_NO):
            bench.see(ahead.red, seen=word in _YES, write=True)
        elif "=" in answer:
            bench.take(answer, at or ahead.step, write=True)
        elif ahead.quantity == SIGN or _is_words(answer):
            denied = next((no for no in _NOT if word.startswith(no) and not word.startswith("no sound")), "")
            bench.see(answer[len(denied) :], seen=not denied, write=True)
        else:
            own = f"{ahead.step}: {ahead.red} to {ahead.black} = {answer}"
            bench.take(own, at or ahead.step, write=True)
    except LugwrightError as error:
        say(f"{paint('not taken', 'yellow', sys.stdout)}: {error}")
        return False
    return True


def _is_words(answer: str) -> bool:
    """Return whether an answer is a sign rather than what a meter shows: it begins with a word, and no such one."""
    first = answer.split(" ")[0].casefold()
    if f"{first} " in _NOT:
        return True
    return first.isalpha() and len(first) > 2 and first not in ("over", "overrange", "overload", "open")


def _place(reading: NextWords) -> tuple[str, ...]:
    return reading.step, reading.red, reading.black, reading.quantity
