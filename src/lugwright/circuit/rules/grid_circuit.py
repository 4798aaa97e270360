"""Not too much resistance between a grid and its bias: grid current would run the tube away."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Part
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "grid-resistance"
_MARGIN = 1.001  # meters of the file's own figures: 68k + 33k is not above 101k


def is_cathode_biased(case: Case, part: Part, letter: str) -> bool:
    """Return whether most of a section's bias is made by its own cathode current."""
    cathode = case.idle.joints[part.terminal("cathode", letter).joint].volts
    grid = case.idle.joints[part.terminal("grid", letter).joint].volts
    return cathode > 0.5 * (cathode - grid)


def grid_circuit(case: Case) -> Iterator[Checked]:
    """Yield the grid-circuit resistance of every section, and a fault above its limit."""
    for part, tube, letter, _ in case.sections():
        own = is_cathode_biased(case, part, letter)
        limits = tube.type.limits
        limit = limits.get("grid_ohm_self" if own else "grid_ohm_fixed")
        if limit is None:
            continue
        name, bias = f"{part.name}{letter}", "cathode" if own else "fixed"
        ohm = case.network.resistance_to_ground_ohm(part.terminal("grid", letter).joint)
        yield Rating(RULE, name, f"grid circuit, {bias} bias", ohm, limit.value, "Ω", str(limit.source))
        if ohm > limit.value * _MARGIN:
            yield case.finding(
                RULE, Grade.FAULT, part,
                what=f"too much resistance in the grid circuit of {name}",
                found=f"{with_unit(ohm, 'Ω')} from grid to its bias",
                wanted=f"at most {with_unit(limit.value, 'Ω')} with {bias} bias ({tube.type.name})",
                do="use a smaller grid leak and a larger coupling capacitor, or cathode bias",
                source=str(limit.source),
            )  # fmt: skip
