"""The center tap meets the reservoir's minus before it meets the ground bus."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.findings import Finding, Grade
from lugwright.layout.charging_loop import center_taps, reservoirs
from lugwright.layout.rules.case import Case


def charging_loop(case: Case) -> Iterator[Finding]:
    """Yield a center tap whose lead ends elsewhere than at the minus of the capacitor it charges."""
    for key, ends in center_taps(case.build):
        parts = reservoirs(case.build, ends)
        lands = {end for wire in case.plan.wires if key in wire.terminals for end in wire.terminals if end != key}
        minus = {f"{part.name}.minus" for part in parts} | {
            terminal
            for seat in case.plan.seats
            for terminal in seat.terminals
            if seat.part in {part.name for part in parts} and case.plan.terminals[terminal].joint == "ground"
        }
        if not parts or lands & minus or key not in case.plan.terminals:
            continue
        yield Finding(
            rule="charging-loop",
            grade=Grade.DOUBT,
            part=parts[0].name,
            what=f"charging current of {parts[0].name} runs through the ground bus",
            found=f"{case.plan.terminals[key].label} lands on {_label(case, lands)}",
            wanted=f"on the minus lead of {parts[0].name}: {_label(case, minus)}",
            do=f"take the center tap to {parts[0].name} first, then one wire from there to the bus",
            source="common practice: the charging loop closes on itself; 0.6 A pulses in 100 mm of bus are 3 mV",
        )


def _label(case: Case, keys: set[str]) -> str:
    return ", ".join(case.plan.terminals[key].label for key in sorted(keys) if key in case.plan.terminals) or "nothing"
