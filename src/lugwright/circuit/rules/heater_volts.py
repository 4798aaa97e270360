"""Every heater gets its volts."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import Part, Tube
from lugwright.circuit.elements import Resistor
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "heater-volts"
FAULT_SHARE, DOUBT_SHARE = 0.10, 0.05
GROSS_SHARE = 0.25  # a resistor would burn a quarter of what the heaters take
SOURCE = "from memory: makers' sheets, heater within 10 % of nominal; within 5 % for long life"


def heater_volts(case: Case) -> Iterator[Checked]:
    """Yield the heater volts of every tube, and a finding where they are off."""
    if case.is_off:
        return
    for part, tube in case.parts(Tube):
        halves = [e for e in case.elements(part, Resistor) if e.role == "heater"]
        volts = [e.ohm * case.idle.parts[e.name].rms_a for e in halves]
        yield from _heater(case, part, tube.type.heater.volts, volts)


def _heater(case: Case, part: Part, nominal_v: float, volts: list[float]) -> Iterator[Checked]:
    worst_v = max(volts, key=lambda v: abs(math.log(max(v, 1e-6) / nominal_v)))
    yield Rating(RULE, part.name, "heater volts", worst_v, nominal_v * (1.0 + FAULT_SHARE), "V", SOURCE)
    off = worst_v / nominal_v - 1.0
    if abs(off) > DOUBT_SHARE:
        yield case.finding(
            RULE, Grade.FAULT if abs(off) > FAULT_SHARE else Grade.DOUBT, part,
            what=f"the heater of {part.name} gets {'too much' if off > 0 else 'too little'}",
            found=f"{with_unit(worst_v, 'V')} ({off:+.1%})",
            wanted=f"{with_unit(nominal_v, 'V')} within {DOUBT_SHARE:.0%}, never off by more than {FAULT_SHARE:.0%}",
            do=_advice(off),
            source=SOURCE,
        )  # fmt: skip


def _advice(off: float) -> str:
    if off > GROSS_SHARE:
        return "look at the primary, the winding and the tube's own heater volts: no resistor mends this much"
    if off > 0:
        return "put a small resistor in the heater line"
    return "look for a thin or long heater wire, a wrong winding, or halves wired in series"
