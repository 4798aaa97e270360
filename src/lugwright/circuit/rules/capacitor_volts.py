"""Capacitors stand the volts of high mains, warm and in the seconds before the tubes draw current."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from lugwright.buildfile.build import Can, Capacitor, Part
from lugwright.circuit.operating import Idle, Rating
from lugwright.circuit.rules.case import MAINS_HIGH, Case, Checked
from lugwright.circuit.rules.supply_arithmetic import surge_v
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE, REVERSED_RULE = "capacitor-volts", "capacitor-reversed"
SOURCE = "rated voltage as stated; surge voltage from memory: IEC 60384-4"
_REVERSE_V = 0.5


def pieces(part: Part) -> list[str]:
    """Return the names of a capacitor's elements: C3, or C9.a, C9.b of a can."""
    if isinstance(part.values, Can):
        return [f"{part.name}.{t.name}" for t in part.terminals if t.name != "minus"]
    return [part.name]


def capacitor_volts(case: Case) -> Iterator[Checked]:
    """Yield the volts of every capacitor at high mains, and a finding above its rating."""
    for part, values in case.parts(Capacitor):
        yield from _piece(case, part, part.name, values.volts, values.polar)
    for part, can in case.parts(Can):
        for name in pieces(part):
            yield from _piece(case, part, name, can.volts, polar=True)


def _peak(idle: Idle, name: str) -> float:
    return idle.parts[name].peak_v * MAINS_HIGH


def _piece(case: Case, part: Part, name: str, rated_v: float, polar: bool) -> Iterator[Checked]:
    worst_v, state = max(((_peak(idle, name), words) for words, idle in case.states), key=itemgetter(0))
    yield Rating(RULE, name, f"volts, {state}, mains +10 %", worst_v, rated_v, "V", SOURCE)
    if worst_v <= rated_v:
        return
    only_surge = polar and _peak(case.idle, name) <= rated_v and worst_v <= surge_v(rated_v)
    yield case.finding(
        RULE, Grade.DOUBT if only_surge else Grade.FAULT, part,
        what=f"capacitor {name} stands at {'its surge voltage' if only_surge else 'too high a voltage'} {state}",
        found=f"{with_unit(worst_v, 'V')} with mains 10 % high",
        wanted=f"at most {with_unit(rated_v, 'V')}"
        + (f" ({with_unit(surge_v(rated_v), 'V')} for seconds only)" if polar else ""),
        do="use a part with a higher rating, or two in series with a resistor across each",
        source=SOURCE,
    )  # fmt: skip


def capacitor_reversed(case: Case) -> Iterator[Checked]:
    """Yield a danger for every electrolytic that stands the wrong way round."""
    for part in case.build.parts:
        if not (isinstance(part.values, Can) or (isinstance(part.values, Capacitor) and part.values.polar)):
            continue
        for name in pieces(part):
            volts, state = min(((idle.parts[name].volts, words) for words, idle in case.states), key=itemgetter(0))
            if volts < -_REVERSE_V:
                plus, minus = case.circuit.by_name[name].joints
                yield case.finding(
                    REVERSED_RULE, Grade.DANGER, part,
                    what=f"electrolytic {name} stands the wrong way round",
                    found=f"{with_unit(volts, 'V')} from {plus} to {minus} {state}",
                    wanted="its positive end (written first) on the more positive joint",
                    do="swap its ends in the file; wired like this it bursts",
                    source="from memory: makers' notes allow about 1 V backward",
                )  # fmt: skip
