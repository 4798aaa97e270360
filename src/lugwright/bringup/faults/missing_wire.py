"""Every planned wire forgotten, and every lead of a transformer left loose."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.codes import NO_BIAS, NO_LOAD, OPEN, SCREEN_ALONE, Code
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.wired import Otherwise
from lugwright.buildfile.build import CHASSIS, EARTH, Transformer
from lugwright.circuit.edits import OPEN_OHM, SetValue
from lugwright.layout.results import Wire

ANY = Code("F57")
NO_EARTH = "without its protective earth the metal goes live when insulation fails inside: pull the plug"
FLOATS = "the metal and the circuit are not tied together: either may stand at any voltage"


def missing_wire(case: FaultCase) -> Iterator[Fault]:
    """Yield each wire missing, unless others carry what it carries."""
    for name, wire in case.wires.items():
        if wire.bond:
            yield _missing_bond(case, wire)
            continue
        effect = case.wired.without([name])
        if not effect:
            continue
        code = _code(case, wire, effect)
        yield case.fault(
            f"missing {name}", code.code, what=f"{case.wire_name(wire)}, is missing", do=_do(case, wire), effect=effect,
            wires=(wire.number,), terminals=wire.terminals, danger=code.danger,
        )  # fmt: skip


def _do(case: FaultCase, wire: Wire) -> str:
    return f"solder its end in at {case.label(wire.terminals[1])}" if wire.type == "lead" else "solder it in"


def _missing_bond(case: FaultCase, wire: Wire) -> Fault:
    earth = EARTH in {t.joint for t in case.build.part(wire.bond).terminals}
    return case.fault(
        f"missing W{wire.number}", "F01" if earth else "F92", what=f"{case.wire_name(wire)}, is missing",
        do="fit it, and measure under 0.1 ohm from one end to the other", changes=(_opened(wire.bond),),
        part=wire.bond, wires=(wire.number,), terminals=wire.terminals, danger=NO_EARTH if earth else FLOATS,
        shows=() if earth else ("hum",),
    )  # fmt: skip


def _opened(element: str) -> SetValue:
    return SetValue(element, "ohm", OPEN_OHM)


def _code(case: FaultCase, wire: Wire, effect: Otherwise) -> Code:
    """Return the entry for a wire: by the lead of a transformer it is, by what falls off, else a forgotten wire."""
    owner = case.terminal(wire.terminals[0]).owner
    part = case.build.part_by_name.get(owner)
    if part is not None and isinstance(part.values, Transformer) and wire.type == "lead":
        return _transformer_lead(case, wire, part.values)
    if wire.kind == "heater":
        return Code("F10")
    if wire.joint == CHASSIS:
        return Code("F92")
    return alone(case, effect) or ANY


def alone(case: FaultCase, effect: Otherwise) -> Code | None:
    """Return the entry of the one part that is cut off, where there is just one and it has a role that counts."""
    off = {moved.element.split(".")[0] for moved in effect.rewiring.moved}
    if len(off) != 1:
        return None
    (name,) = off
    if name not in case.roles:
        return None
    found = case.code(name, OPEN)
    return None if found.code == "F99" else found


def _transformer_lead(case: FaultCase, wire: Wire, values: Transformer) -> Code:
    _, _, lead = wire.terminals[0].partition(".")
    winding = next(w for w in values.windings if lead in w.ends)
    inner = lead not in (winding.ends[0], winding.ends[-1])
    kind = case.classes.get(wire.joint, "")
    if values.role == "power" and winding is not values.windings[0]:
        if kind == "heater" or winding.name == "heater":
            return Code("F12") if inner else Code("F10")
        if kind == "bias" and winding.name != "hv":
            return Code("F33", NO_BIAS)
        return Code("F07") if inner else Code("F20")
    if values.role == "output":
        if winding is values.windings[0]:
            return ANY if inner else Code("F82", SCREEN_ALONE)
        return Code("F84", NO_LOAD)
    return ANY
