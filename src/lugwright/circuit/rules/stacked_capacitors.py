"""Electrolytics in series share the volts only when a resistor across each makes them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import Can, Capacitor, Part
from lugwright.circuit.elements import Capacitor as CapacitorElement
from lugwright.circuit.elements import Resistor
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.capacitor_volts import pieces
from lugwright.circuit.rules.case import MAINS_HIGH, Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "stacked-capacitors"
SOURCE = "maker's guide: R at most (2 rated - total) / difference of leakage; leakage 3 sqrt(uF V) uA from memory"


def equalizing_ohm(*, rated_v: float, total_v: float, leak_a: float) -> float:
    """Return the largest resistor that keeps either of two capacitors in series below its rating.

    Parameters
    ----------
    rated_v : float
        Of each capacitor. [V]
    total_v : float
        Across both. [V]
    leak_a : float
        Largest difference of their leakage. [A]

    Returns
    -------
    float
        Across each; 0 where both together are not enough. [ohm]

    Source
    ------
    A maker's guide to electrolytic capacitors: R <= (2 Vr - Vtot) / dI.
    """
    return max(0.0, 2.0 * rated_v - total_v) / leak_a


def leakage_a(*, farad: float, volts: float) -> float:
    """Return the leakage a good electrolytic may have.

    Parameters
    ----------
    farad : float
        Capacitance. [F]
    volts : float
        Rated. [V]

    Returns
    -------
    float
        After minutes at its volts. [A]

    Source
    ------
    from memory: makers' sheets of snap-in types, 3 sqrt(C V) microamperes with C in microfarads.
    """
    return 3e-6 * math.sqrt(farad * 1e6 * volts)


def stacked_capacitors(case: Case) -> Iterator[Checked]:
    """Yield the resistor across every electrolytic that stands in series with another, and what is wrong with it."""
    polar = case.of_build(_electrolytics)
    for part, upper, rated_v in polar:
        for _, lower, other_v in polar:
            if upper.b == lower.a and upper.b != case.circuit.ground:
                total_v = MAINS_HIGH * max(
                    abs(idle.joints[upper.a].volts - idle.joints[lower.b].volts) for _, idle in case.states
                )
                yield from _across(case, part, upper, min(rated_v, other_v), total_v)
                yield from _across(
                    case, case.build.part(lower.name.split(".")[0]), lower, min(rated_v, other_v), total_v
                )


def _electrolytics(case: Case) -> list[tuple[Part, CapacitorElement, float]]:
    return list(_each_electrolytic(case))


def _each_electrolytic(case: Case) -> Iterator[tuple[Part, CapacitorElement, float]]:
    for part in case.build.parts:
        values = part.values
        if isinstance(values, Can) or (isinstance(values, Capacitor) and values.polar):
            for name in pieces(part):
                element = case.circuit.by_name[name]
                if isinstance(element, CapacitorElement):
                    yield part, element, values.volts


def _across(case: Case, part: Part, capacitor: CapacitorElement, rated_v: float, total_v: float) -> Iterator[Checked]:
    ends = set(capacitor.joints)
    siemens = sum(1.0 / e.ohm for e in case.circuit.elements if isinstance(e, Resistor) and set(e.joints) == ends)
    most = equalizing_ohm(rated_v=rated_v, total_v=total_v, leak_a=leakage_a(farad=capacitor.farad, volts=rated_v))
    if siemens > 0.0:
        yield Rating(RULE, capacitor.name, "resistor across it, in a stack", 1.0 / siemens, most, "Ω", SOURCE)
    if siemens <= 0.0 or 1.0 / siemens > most:
        found = f"{with_unit(1.0 / siemens, 'Ω')} across it" if siemens > 0.0 else "no resistor across it"
        yield case.finding(
            RULE, Grade.FAULT, part,
            what=f"nothing makes {capacitor.name} take its share of the volts"
            if siemens <= 0.0
            else f"the resistor across {capacitor.name} is too large to share out the volts",
            found=f"{found}, {with_unit(total_v, 'V')} over both on high mains, rated {with_unit(rated_v, 'V')} each",
            wanted=f"at most {with_unit(most, 'Ω')} across each" if most > 0.0 else "more rated volts",
            do="put equal resistors across both" if most > 0.0 else "use capacitors of a higher rating",
            source=SOURCE,
        )  # fmt: skip
