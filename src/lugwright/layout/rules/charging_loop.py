"""The center tap meets the reservoir's minus before it meets the ground bus."""

from __future__ import annotations

from lugwright.buildfile.build import GROUND
from lugwright.findings import Finding, Grade
from lugwright.layout.charging_loop import center_taps, reservoirs
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged


def charging_loop(case: Case) -> Judged:
    """Return where the center tap lands, and whether that is the minus of the capacitor it charges."""
    worst, findings = None, []
    for key, ends in center_taps(case.build):
        parts = reservoirs(case.build, ends)
        lands = {end for wire in case.plan.wires if key in wire.terminals for end in wire.terminals if end != key}
        minus = _minus(case, {part.name for part in parts})
        if not parts or key not in case.plan.terminals:
            continue
        met = bool(lands & minus)
        found = f"{case.label(key)} lands on {_labels(case, lands)}"
        wanted = f"on the minus lead of {parts[0].name}: {_labels(case, minus)}"
        if worst is None or not met:
            worst = WorstPlace("charging-loop", "loop of charging current", parts[0].name, found, wanted, met)
        if not met:
            findings.append(_finding(parts[0].name, found, wanted))
    return Judged(worst, tuple(findings))


def _finding(part: str, found: str, wanted: str) -> Finding:
    return Finding(
        rule="charging-loop", grade=Grade.DOUBT, part=part,
        what=f"charging current of {part} runs through the ground bus", found=found, wanted=wanted,
        do=f"take the center tap to {part} first, then one wire from there to the bus",
        source="common practice: the charging loop closes on itself; 0.6 A pulses in 100 mm of bus are 3 mV",
    )  # fmt: skip


def _minus(case: Case, parts: set[str]) -> set[str]:
    """Return the terminals that carry the minus of the capacitors."""
    return {f"{part}.minus" for part in parts} | {
        key
        for seat in case.plan.seats
        for key in seat.terminals
        if seat.part in parts and case.plan.terminals[key].joint == GROUND
    }


def _labels(case: Case, keys: set[str]) -> str:
    return ", ".join(case.label(key) for key in sorted(keys) if key in case.plan.terminals) or "nothing"
