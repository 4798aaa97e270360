"""What hangs together on the wiring side, by name: joints, terminals, wires, parts, job cards."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lugwright.buildfile.build import Build
from lugwright.buildfile.part_words import value_words
from lugwright.circuit.operating import Idle, JointIdle
from lugwright.documents.drawings.colors import inks
from lugwright.documents.drawings.layer_drawing import layers_of
from lugwright.documents.drawings.wire_layers import laying
from lugwright.layout.results import Plan, Wire
from lugwright.quantities import with_unit
from lugwright.workorder.results import Job, WorkOrder

TOUCH_V = 60.0  # above this nothing is touched: capacitors are discharged to below it
LEAST_V = 0.05
Row = dict[str, Any]


def wiring_tables(build: Build, plan: Plan, order: WorkOrder, idle: Idle, worst: Mapping[str, float]) -> Row:
    """Return the tables that the page looks things up in. ``worst`` is how far each joint gets from ground. [V]"""
    cards: dict[str, list[int]] = {}
    for job in order.jobs:
        for name in brought(job):
            cards.setdefault(name, []).append(job.number)
    phase = {job.number: job.phase for job in order.jobs}
    cut = {number: row.length_mm for row in order.cut_list for number in row.wires}
    wires = {f"W{wire.number}": _wire(wire, cut.get(wire.number), cards) for wire in plan.wires}
    return {
        "joints": _joints(plan, idle, worst),
        "terminals": {key: _terminal(plan, key) for key in plan.terminals},
        "wires": wires,
        "parts": _parts(build, plan, cards),
        "buses": {bus.name: bus.joint for bus in build.buses},
        "strips": {strip.name: {"at": list(strip.at), "turn": strip.turn} for strip in build.strips},
        "cards": [_card(job) for job in order.jobs],
        "phases": list(dict.fromkeys(phase.values())),
        "layers": layers_of(build, plan, laying(plan, order)),
        "touch_v": TOUCH_V,
    }


def brought(job: Job) -> list[str]:
    """Return what a card brings or works on, by name."""
    names = [*job.parts, *(f"W{number}" for number in job.wires), *job.buses, *(lead.what for lead in job.leads)]
    return list(dict.fromkeys(names))


def _joints(plan: Plan, idle: Idle, worst: Mapping[str, float]) -> dict[str, Row]:
    found: dict[str, Row] = {}
    for key, terminal in plan.terminals.items():
        if terminal.joint:
            row = found.setdefault(
                terminal.joint, {"terminals": [], "volts": "", "worst": round(worst.get(terminal.joint, 0.0), 1)}
            )
            row["terminals"].append(key)
    for joint, row in found.items():
        reading = idle.joints.get(joint)
        row["volts"] = volts_words(reading) if reading else ""
    return found


def volts_words(reading: JointIdle) -> str:
    """Return a joint's volts against ground, and what swings about them where that counts."""
    words = f"{with_unit(reading.volts, 'V')} dc" if abs(reading.volts) >= LEAST_V else ""
    if reading.ripple_rms_v > max(LEAST_V, 0.02 * abs(reading.volts)):
        words = f"{words}, {with_unit(reading.ripple_rms_v, 'V')} ac".removeprefix(", ")
    return words or "0 V"


def _terminal(plan: Plan, key: str) -> Row:
    terminal = plan.terminals[key]
    return {
        "label": terminal.label, "owner": terminal.owner, "kind": terminal.kind, "joint": terminal.joint,
        "leads": list(plan.leads_at(key)),
    }  # fmt: skip


def _wire(wire: Wire, cut_mm: float | None, cards: Mapping[str, list[int]]) -> Row:
    ink, stripe = inks(wire.color)
    ends = f"{wire.strip_mm[0]:g} mm and {wire.strip_mm[1]:g} mm"
    jacket = f"{wire.jacket_mm[0]:g} mm and {wire.jacket_mm[1]:g} mm" if any(wire.jacket_mm) else ""
    return {
        "joint": wire.joint, "ends": list(wire.terminals), "kind": wire.kind, "color": wire.color,
        "type": "its own lead" if wire.type == "lead" else wire.type, "ink": ink, "stripe": stripe or "",
        "cut": "" if cut_mm is None else f"{cut_mm:g} mm", "route": f"{wire.length_mm:.0f} mm", "strip": ends,
        "jacket": jacket, "twist": wire.twist, "bond": wire.bond, "shield": wire.shield,
        "over": list(wire.lies_over), "cards": cards.get(f"W{wire.number}", []),
    }  # fmt: skip


def _parts(build: Build, plan: Plan, cards: Mapping[str, list[int]]) -> dict[str, Row]:
    """Return every part that is on the drawing: hung between two terminals, or with terminals of its own."""
    seats = {seat.part: seat for seat in plan.seats}
    own: dict[str, list[str]] = {}
    for key, terminal in plan.terminals.items():
        own.setdefault(terminal.owner, []).append(key)
    found = {}
    for part in build.parts:
        seat = seats.get(part.name)
        ends = list(seat.terminals) if seat else own.get(part.name, [])
        if ends:
            found[part.name] = {
                "words": value_words(part.values), "ends": ends, "seated": seat is not None,
                "leads": list(seat.lead_names) if seat else [], "layer": seat.layer if seat else 0,
                "cards": cards.get(part.name, []),
            }  # fmt: skip
    return found


def _card(job: Job) -> Row:
    return {
        "number": job.number, "phase": job.phase, "title": job.title, "text": list(job.text),
        "things": brought(job), "terminals": list(dict.fromkeys(lead.terminal for lead in job.leads)),
        "cautions": list(job.cautions), "solder": list(job.solder), "waits": list(job.waits),
    }  # fmt: skip
