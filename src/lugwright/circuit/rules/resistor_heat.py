"""Resistors stay below their watts, and below half of them for a long life."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from lugwright.buildfile.build import Part, Pot, Resistor
from lugwright.circuit.operating import Rating
from lugwright.circuit.pot_taper import END_STOP_OHM
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE, POT_RULE = "resistor-watts", "pot-watts"
DOUBT_SHARE = 0.5
SOURCE = "rated watts as stated or of the body; half of it is bench practice, from memory"


def resistor_heat(case: Case) -> Iterator[Checked]:
    """Yield the heat of every resistor, and a finding above half and above the whole of its rating."""
    for part, values in case.parts(Resistor):
        heat_w, state = max(((idle.parts[part.name].watts, words) for words, idle in case.states), key=itemgetter(0))
        yield from _judged(case, part, RULE, heat_w, values.watts, f"resistor {part.name}", state)


def pot_heat(case: Case) -> Iterator[Checked]:
    """Yield the heat of every pot as if its whole track carried the largest current of a half."""
    for part, values in case.parts(Pot):
        currents = (
            (idle.parts[f"{part.name}.{half}"].rms_a, words)
            for words, idle in case.states
            for half in ("1-2", "2-3")
            if abs(idle.parts[f"{part.name}.{half}"].peak_v)
            > END_STOP_OHM * idle.parts[f"{part.name}.{half}"].rms_a * 1.5
            or half == "1-2"
        )
        amps, state = max(currents, key=itemgetter(0))
        yield from _judged(case, part, POT_RULE, amps * amps * values.ohm, values.watts, f"pot {part.name}", state)


def _judged(
    case: Case, part: Part, rule: str, heat_w: float, rated_w: float, name: str, state: str
) -> Iterator[Checked]:
    yield Rating(rule, part.name, f"heat, {state}", heat_w, rated_w, "W", SOURCE)
    if heat_w <= DOUBT_SHARE * rated_w:
        return
    burns = heat_w > rated_w
    yield case.finding(
        rule, Grade.FAULT if burns else Grade.DOUBT, part,
        what=f"{name} {'is overloaded' if burns else 'runs hot'} {state}",
        found=f"{with_unit(heat_w, 'W')} in a {rated_w:g} W part",
        wanted=f"at most {with_unit(DOUBT_SHARE * rated_w, 'W')}, half of its rating",
        do=f"use a part for {with_unit(heat_w / DOUBT_SHARE, 'W')} or more, and keep it clear of capacitors",
        source=SOURCE,
    )  # fmt: skip
