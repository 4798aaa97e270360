"""Resistors stay below their limiting volts, which watts alone do not show."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from lugwright.buildfile.build import Resistor
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import MAINS_HIGH, Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "resistor-volts"
SOURCE = "limiting voltage as stated or of the body (makers' tables of film resistors)"


def resistor_volts(case: Case) -> Iterator[Checked]:
    """Yield the peak volts of every resistor, and a finding above its limiting volts."""
    for part, values in case.parts(Resistor):
        peak_v, state = max(((idle.parts[part.name].peak_v, words) for words, idle in case.states), key=itemgetter(0))
        yield Rating(
            RULE, part.name, f"volts, {state}, mains +10 %", peak_v * MAINS_HIGH, values.limiting_v, "V", SOURCE
        )
        if peak_v * MAINS_HIGH > values.limiting_v:
            always = peak_v > values.limiting_v
            yield case.finding(
                RULE, Grade.FAULT if always else Grade.DOUBT, part,
                what=f"resistor {part.name} stands at more than its limiting voltage {state}",
                found=f"{with_unit(peak_v, 'V')}, {with_unit(peak_v * MAINS_HIGH, 'V')} on high mains",
                wanted=f"at most {with_unit(values.limiting_v, 'V')}",
                do="use a larger body, or two in series",
                source=SOURCE,
            )  # fmt: skip
