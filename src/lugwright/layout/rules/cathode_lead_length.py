"""Cathode resistors and their bypass capacitors sit at the socket."""

from __future__ import annotations

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told

LONGEST_MM = 80.0  # our own: from a socket to the row of lugs in front of it and along three of them, with slack


def cathode_lead_length(case: Case) -> Judged:
    """Return the longest wire between a cathode and its parts."""
    wires = [wire for wire in case.plan.wires if wire.kind == "cathode"]
    if not wires:
        return Judged()
    wire = max(wires, key=lambda w: (w.length_mm, -w.number))
    ends = " to ".join(case.label(key) for key in wire.terminals)
    met = wire.length_mm <= LONGEST_MM
    found, limit = f"{wire.length_mm:.0f} mm", f"{LONGEST_MM:.0f} mm or less"
    worst = WorstPlace(
        "cathode-lead-length", "longest cathode wire", f"W{wire.number}, {ends}", found, limit, met
    )  # fmt: skip
    return told(
        worst, Grade.NOTE, part=f"W{wire.number}",
        what=f"cathode wire W{wire.number} is long: the parts of {wire.joint} do not sit at the socket",
        found=f"{found}, {ends}", do="give the cathode a lug nearer its socket",
        source="common practice: cathode parts at the socket; the number is our own",
    )  # fmt: skip
