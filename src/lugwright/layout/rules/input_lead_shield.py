"""The wire of an input jack, or of the springs' return, is short or shielded."""

from __future__ import annotations

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.pickup import heater_hum_v
from lugwright.layout.rules.case import Case, Judged, told
from lugwright.layout.rules.heater_near_grid import WITHIN_MM as NEAR_MM
from lugwright.layout.shielding import SHIELD_FROM_MM, quiet_joints
from lugwright.layout.ways import route_length_mm

RULE = "input-lead-shield"


def input_lead_shield(case: Case) -> Judged:
    """Return the longest bare wire with next to no signal on it; a shield that the builder forbids is not missed."""
    forbidden = {joint for joint, wanted in case.build.wishes.shield.items() if not wanted}
    quiet = quiet_joints(case.build) - forbidden
    wires = [wire for wire in case.plan.wires if wire.joint in quiet]
    bare = [(route_length_mm(wire.route), -wire.number) for wire in wires if not wire.shield]
    if not wires:
        return Judged()
    what = "longest input lead without shield"
    if not bare:
        shielded = ", ".join(f"W{wire.number}" for wire in wires)
        return Judged(WorstPlace(RULE, what, shielded, "all shielded", f"{SHIELD_FROM_MM:.0f} mm or less", met=True))
    length, number = max(bare)
    met = length <= SHIELD_FROM_MM
    worst = WorstPlace(RULE, what, f"W{-number}", f"{length:.0f} mm", f"{SHIELD_FROM_MM:.0f} mm or less", met)
    return told(
        worst, Grade.DOUBT, part=f"W{-number}", what=f"input lead W{-number} is long and has no shield",
        found=f"{length:.0f} mm of route, up to {1e6 * heater_hum_v(run_mm=length, apart_mm=NEAR_MM):.0f} µV of hum "
        f"{NEAR_MM:.0f} mm beside a heater pair; no ground with room for its braid within reach of either end",
        wanted=f"{SHIELD_FROM_MM:.0f} mm or less, or shielded wire",
        do="leave room for one lead more on the jack's sleeve, or bring ground to a lug beside the wire's end",
        source="common practice: shielded input lead; the number is our own",
    )  # fmt: skip
