"""What tracing found, as plain text: danger first, then suspects, then the next reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from lugwright.cli.printing import table

if TYPE_CHECKING:
    from lugwright.bringup.trace_results import (
        FaultWords,
        NextWords,
        OutcomeWords,
        SignWords,
        SuspectWords,
        TracedReading,
        Tracing,
    )

WIDTH = 110
TO_BE_MENDED = ("found", "look")
MENDED = (
    "Mended? Read again what was off, each in its step: the last reading counts. Then go on: lugwright power-up FILE"
)
MOST_LISTED = 12  # readings; of more only those to be taken again are printed
FEW = 3  # faults of one group that are told with what to do
SIGN = "sign"
LOOKED = (SIGN, "lamp")  # quantities that no meter reads
_SEEN = {True: "yes", False: "no", None: ""}
WRONG_FROM = 0.2  # chance from which a reading is said to be doubtful


def tracing_text(found: Tracing, *, readings: bool = True) -> str:
    """Return the whole answer."""
    at_once = "SWITCH OFF NOW" if found.live else "KEEP THE PLUG OUT"
    blocks = [f"{at_once}: {found.switch_off}."] if found.switch_off else []
    blocks += [f"IN DOUBT: {found.again}."] if found.again else []
    if found.readings:
        blocks.append("\n".join(_readings(found) if readings else _doubted(found)))
    blocks.append(found.words)
    if found.suspects:
        blocks.append("\n".join(line for suspect in found.suspects for line in suspect_lines(suspect)))
    if found.pairs:
        lines = [line for pair in found.pairs[:2] for line in suspect_lines(pair)]
        blocks.append("\n".join(["Or two things at once:", *lines]))
    blocks.append("\n".join(_the_rest(found)))
    if found.state in TO_BE_MENDED:
        blocks.append(MENDED)
    if found.next:
        blocks.append("\n".join(next_lines(found.next[0], little=found.state == "look")))
        blocks += ["\n".join(_others(found))] if len(found.next) > 1 else []
    return "\n\n".join(block for block in blocks if block)


def _readings(found: Tracing) -> Iterator[str]:
    if len(found.readings) > MOST_LISTED:
        yield f"Readings weighed: {len(found.readings)} (lugwright read FILE --list)"
        yield from _doubted(found)
        return
    yield f"Readings weighed: {len(found.readings)}"
    for place, reading in enumerate(found.readings, start=1):
        yield f"{place:>3}  {_reading(reading)}"
        yield from _doubt(reading)


def _doubted(found: Tracing) -> Iterator[str]:
    """Yield only the readings that should be taken again."""
    for place, reading in enumerate(found.readings, start=1):
        if reading.wrong >= WRONG_FROM:
            yield f"Reading {place}, {_reading(reading)}"
            yield from _doubt(reading)


def _reading(reading: TracedReading) -> str:
    if reading.quantity == SIGN:
        return f"{reading.point}: {reading.shown}"
    return f"{reading.step}: {reading.point} {reading.shown}"


def _doubt(reading: TracedReading) -> Iterator[str]:
    """Yield that a reading was perhaps taken wrongly, and how."""
    if reading.wrong < WRONG_FROM:
        return
    head = f"perhaps taken wrongly ({_percent(reading.wrong)})"
    words = f"{head}: read it again"
    if reading.quantity == SIGN:
        words = f"perhaps not so, or not from inside this build ({_percent(reading.wrong)}): look once more"
    if reading.slips:
        slip = reading.slips[0]
        words = f"{head}; if so, most likely {slip.what}: {slip.do}"
    yield from wrap(words, WIDTH, initial_indent=" " * 7, subsequent_indent=" " * 11)


def suspect_lines(suspect: SuspectWords) -> Iterator[str]:
    """Yield a group of faults: its chance, then each with what to do about it."""
    head = f"{_percent(suspect.chance):>9}  "
    if suspect.words:
        yield head + suspect.words
        head = " " * 11 + "- "
    for fault in suspect.faults[:FEW]:
        yield from _fault_lines(fault, head)
        head = " " * 11 + "- " if suspect.words else head
    if len(suspect.faults) > FEW:
        yield " " * 11 + f"- and {len(suspect.faults) - FEW} more (--json lists them)"


def _fault_lines(fault: FaultWords, head: str) -> Iterator[str]:
    indent = " " * len(head)
    yield from wrap(fault.what, WIDTH, initial_indent=head, subsequent_indent=indent)
    card = f" ({fault.card})" if fault.card else ""
    yield from wrap(f"do: {fault.do}{card}", WIDTH, initial_indent=indent, subsequent_indent=f"{indent}    ")
    if fault.danger:
        yield from wrap(f"danger: {fault.danger}", WIDTH, initial_indent=indent, subsequent_indent=f"{indent}    ")


def _the_rest(found: Tracing) -> Iterator[str]:
    yield f"{_percent(found.none_of_these):>9}  none of the {found.faults} faults on the list"
    yield f"{_percent(found.healthy):>9}  nothing wrong"
    if found.as_good_so_far and found.readings:
        yield f"{found.as_good_so_far} faults would read like a good build in all readings so far."


def next_lines(reading: NextWords, *, little: bool = False) -> Iterator[str]:
    """Yield the next reading or look and what each outcome would mean; ``little``: it tells hardly anything more."""
    if reading.quantity in LOOKED:
        yield from wrap(f"Next: {reading.point} ({reading.title})", WIDTH, subsequent_indent="      ")
    else:
        head = "If you would rather read on than look" if little else "Measure next"
        yield f"{head}: {reading.point}, {reading.quantity} ({reading.title})"
    yield f"  caution: {reading.caution}"
    for outcome in reading.outcomes:
        yield from wrap(_outcome(outcome), WIDTH, initial_indent="  ", subsequent_indent="      ")


def _outcome(outcome: OutcomeWords) -> str:
    more = f"; or one of {outcome.more} more" if outcome.more else ""
    return f"{outcome.words}: {'; or '.join(outcome.means) or 'nothing on the list'}{more}"


def _others(found: Tracing) -> Iterator[str]:
    yield "Nearly as telling:"
    for reading in found.next[1:]:
        what = reading.point if reading.quantity in LOOKED else f"{reading.point}, {reading.quantity}"
        yield from wrap(f"{what} ({reading.title})", WIDTH, initial_indent="  ", subsequent_indent="      ")


def signs_text(signs: Sequence[SignWords]) -> str:
    """Return the signs of a build, each with how to look for it, and what was told of them."""
    rows = ((sign.name, _SEEN[sign.seen], sign.title, sign.look) for sign in signs)
    return table(("sign", "seen", "from", "how to find out"), rows)


def _percent(chance: float) -> str:
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"
