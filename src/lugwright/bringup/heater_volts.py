"""Volts at each socket's heater pins, with the drop in the planned wires."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lugwright.bringup.results import HeaterAtSocket
from lugwright.buildfile.build import Build, Lamp, Part, Tube
from lugwright.catalogue.load import wire_types
from lugwright.catalogue.wire import awg_resistance_ohm_per_m
from lugwright.circuit.elements import Resistor
from lugwright.circuit.heater_wiring import Link, Load, load_volts_v
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.findings import Finding, Grade
from lugwright.layout.results import Plan
from lugwright.quantities import with_unit

RULE = "heater-wire-drop"
SOURCE = "from memory: makers' sheets, heater within 10 % of nominal; within 5 % for long life"
DOUBT_SHARE, FAULT_SHARE = 0.05, 0.10
_LEAD_AWG = 20  # a transformer's own leads, from memory of ordinary ones
_ENDS = {"heater": ("heater1", "heater2"), "heater1-tap": ("heater1", "heater_tap"),
         "heater2-tap": ("heater2", "heater_tap")}  # fmt: skip


def heaters_at_sockets(build: Build, circuit: Circuit, idle: Idle, plan: Plan) -> tuple[HeaterAtSocket, ...]:
    """Return the heater volts of every tube whose chain is planned, the least of its halves."""
    elements = [e for e in circuit.elements if isinstance(e, Resistor) and e.role in ("heater", "lamp")]
    level = _levels(elements, idle)
    joints = {joint for e in elements for joint in e.joints}
    links = [Link(*w.terminals, max(_ohm(w.type, w.length_mm), 1e-6)) for w in plan.wires if w.joint in joints]
    loads = [load for e in elements if (load := _load(build, e)) is not None]
    feeds = {
        key: level[terminal.joint]
        for key, terminal in plan.terminals.items()
        if terminal.kind == "exit" and terminal.joint in joints
    }
    found = load_volts_v(links, loads, feeds)
    return tuple(_tubes(build, elements, idle, found))


def heater_findings(build: Build, rows: Iterable[HeaterAtSocket]) -> tuple[Finding, ...]:
    """Return a doubt where a heater gets over 5 % too little because of its wires, a fault over 10 %."""
    return tuple(_finding(build.part(row.tube), row) for row in rows if _starved(row))


def _starved(row: HeaterAtSocket) -> bool:
    return row.volts < (1.0 - DOUBT_SHARE) * row.nominal_v and row.drop_v > 0.01 * row.nominal_v


def _finding(part: Part, row: HeaterAtSocket) -> Finding:
    off = row.volts / row.nominal_v - 1.0
    return Finding(
        rule=RULE, grade=Grade.FAULT if off < -FAULT_SHARE else Grade.DOUBT, part=part.name, place=part.place,
        what=f"the heater of {part.name} is starved by its wires",
        found=f"{with_unit(row.volts, 'V')} at the socket ({off:+.0%}), {with_unit(row.drop_v, 'V')} lost on the way",
        wanted=f"{with_unit(row.nominal_v, 'V')} within {DOUBT_SHARE:.0%}, never off by more than {FAULT_SHARE:.0%}",
        do="use thicker heater wire, shorter runs, or feed the chain from its other end, too",
        source=SOURCE,
    )  # fmt: skip


def _levels(elements: Iterable[Resistor], idle: Idle) -> dict[str, float]:
    """Return a level for every joint the heaters stand on, RMS volts in phase, from the volts across each heater."""
    left = list(elements)
    level: dict[str, float] = {}
    while left:
        ready = next((e for e in left if e.a in level or e.b in level), left[0])
        left.remove(ready)
        volts = ready.ohm * idle.parts[ready.name].rms_a
        if ready.b in level and ready.a not in level:
            level[ready.a] = level[ready.b] + volts
        else:
            level.setdefault(ready.a, volts)
            level.setdefault(ready.b, level[ready.a] - volts)
    return level


def _ohm(wire: str, length_mm: float) -> float:
    by_name = {kind.name: kind for kind in wire_types()}
    per_m = by_name[wire].ohm_per_m if wire in by_name else awg_resistance_ohm_per_m(_LEAD_AWG)
    return per_m * length_mm / 1000.0


def _load(build: Build, element: Resistor) -> Load | None:
    name, _, piece = element.name.partition(".")
    part = build.part(name)
    if isinstance(part.values, Lamp):
        return Load(element.name, f"{name}.1", f"{name}.2", element.ohm)
    if piece not in _ENDS:
        return None
    pins = [part.terminal(end).pins[0] for end in _ENDS[piece]]
    return Load(element.name, f"{name}.{pins[0]}", f"{name}.{pins[1]}", element.ohm)


def _tubes(build: Build, elements: Iterable[Resistor], idle: Idle, found: dict[str, float]) -> Iterator[HeaterAtSocket]:
    for part in build.parts:
        if isinstance(part.values, Tube):
            mine = [e for e in elements if e.name.split(".")[0] == part.name and e.name in found]
            if mine:
                worst = min(mine, key=lambda e: found[e.name])
                before = worst.ohm * idle.parts[worst.name].rms_a
                nominal = part.values.type.heater.volts
                yield HeaterAtSocket(part.name, nominal, found[worst.name], before - found[worst.name])
