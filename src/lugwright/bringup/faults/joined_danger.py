"""Why to switch off when joints touch that must not."""

from __future__ import annotations

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.codes import NO_BIAS, OVERLOAD
from lugwright.bringup.wired import Otherwise
from lugwright.circuit.elements import Capacitor, Resistor

MAINS_OUT = "the mains stands where nobody expects it: pull the plug"
GRID_HIGH = "a grid on the supply: its tube draws all it can"
HIGH = ("B+", "output plate", "screen")
LOW = ("ground", "chassis", "earth", "heater", "speaker", "cathode", "bias")


def joined_danger(case: FaultCase, effect: Otherwise) -> str:
    """Return why to switch off at once where what touches under an effect carries too much; else nothing."""
    for bridge in effect.rewiring.bridges:
        kinds = (case.classes.get(joint, "") for joint in (bridge.a, bridge.b))
        a, b = sorted(kinds, key=lambda kind: (kind not in HIGH, kind))
        if "mains" in (a, b):
            return MAINS_OUT
        if a in HIGH and b in LOW:
            return OVERLOAD
        if {a, b} == {"bias", "ground"}:
            return NO_BIAS
        if a in HIGH and b == "grid":
            return GRID_HIGH
    for moved in effect.rewiring.moved:
        a, b = case.classes.get(case.wired.joint_of[moved.element, moved.end], ""), case.classes.get(moved.to, "")
        if b and (a == "mains") != (b == "mains"):
            return MAINS_OUT
        if a in HIGH and b in LOW and not isinstance(case.circuit.by_name.get(moved.element), Resistor | Capacitor):
            return OVERLOAD
    return ""
