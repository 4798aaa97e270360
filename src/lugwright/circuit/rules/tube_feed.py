"""Every plate and every screen is fed by something."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "tube-unfed"
SUPPLY_V = 12.0  # no tube amplifier runs on less
LEAST_V = 3.0  # a plate that draws current from a supply has more, one that only leaks stops below its cathode


def tube_feed(case: Case) -> Iterator[Checked]:
    """Yield a fault for a plate or a screen that stands no higher than its cathode, while there is a supply."""
    if max((joint.volts for joint in case.idle.joints.values()), default=0.0) < SUPPLY_V:
        return
    for part, _, letter, idle in case.sections():
        cathode = part.terminal("cathode", letter).joint
        for where, volts in (("plate", idle.plate_to_cathode_v), ("screen", idle.screen_to_cathode_v)):
            if volts is None or volts >= LEAST_V or part.terminal(where, letter).joint == cathode:
                continue
            name = f"{part.name}{letter}"
            yield case.finding(
                RULE, Grade.FAULT, part,
                what=f"nothing feeds the {where} of {name}",
                found=f"{with_unit(volts, 'V')} {where} to cathode",
                wanted=f"a resistor, a choke or a winding from its supply to {name}.{where}",
                do=f"look for an end that is missing or written otherwise at {part.terminal(where, letter).joint}",
            )  # fmt: skip
