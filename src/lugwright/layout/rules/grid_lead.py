"""Grid wires are the shortest of all, and a grid stopper sits on its pin."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Resistor, Tube
from lugwright.findings import Finding, Grade
from lugwright.layout.rules.case import Case

LONGEST_MM = 60.0  # our own limit; builders agree on "short", not on a number


def grid_lead_length(case: Case) -> Iterator[Finding]:
    """Yield the longest grid wire when it is too long."""
    grids = [wire for wire in case.plan.wires if wire.kind == "grid"]
    if not grids:
        return
    worst = max(grids, key=lambda wire: (wire.length_mm, -wire.number))
    if worst.length_mm > LONGEST_MM:
        ends = " to ".join(case.plan.terminals[key].label for key in worst.terminals)
        yield Finding(
            rule="grid-lead-length",
            grade=Grade.DOUBT,
            part=f"W{worst.number}",
            what=f"grid wire W{worst.number} is long",
            found=f"{worst.length_mm:.0f} mm, {ends}",
            wanted=f"{LONGEST_MM:.0f} mm or less",
            do="add a grid stopper on the pin, use shielded wire, or bring the strip nearer",
            source="common practice: grid wire shortest of all; the number is our own",
        )


def grid_stopper_on_pin(case: Case) -> Iterator[Finding]:
    """Yield a grid stopper that is not soldered to the grid pin."""
    for joint, terminals in case.build.joints.items():
        grids = [t for t in terminals if t.name == "grid" and isinstance(case.build.part(t.part).values, Tube)]
        stoppers = [t for t in terminals if isinstance(case.build.part(t.part).values, Resistor)]
        if len(terminals) != 2 or not grids or not stoppers:
            continue
        pins = {f"{grids[0].part}.{pin}" for pin in grids[0].pins}
        seat = next((s for s in case.plan.seats if s.part == stoppers[0].part), None)
        if seat is not None and not pins & set(seat.terminals):
            yield Finding(
                rule="grid-stopper-on-pin",
                grade=Grade.DOUBT,
                part=seat.part,
                what=f"grid stopper {seat.part} is not on the pin",
                found=f"{' to '.join(seat.terminals)}, joint {joint}",
                wanted=f"one lead on {' or '.join(sorted(pins))}",
                do="stand a free lug within reach of the socket",
                source="common practice: the stopper works against the pin's own capacitance",
            )
