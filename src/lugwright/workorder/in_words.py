"""Leads, wires and terminals as they are called on a job card."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from lugwright.buildfile.build import Bond, Build, Capacitor, Diode, Part, Tube
from lugwright.layout.results import Plan, Wire
from lugwright.workorder.cut_list import cut_length_mm

_RUNS = re.compile(r"\d+|\D+")


def in_bench_order(names: Iterable[str]) -> list[str]:
    """Return names in the order a person looks for them, each once: W9 before W10."""
    return sorted(set(names), key=lambda name: [_rank(run) for run in _RUNS.findall(name)])


def _rank(run: str) -> tuple[bool, int, str]:
    return run.isdecimal(), int(run) if run.isdecimal() else 0, run


def terminal_words(build: Build, plan: Plan, key: str) -> str:
    """Return a terminal's label; a tube pin says which electrode it carries: ``V1 pin 6 (plate b)``."""
    terminal = plan.terminals[key]
    part = build.part_by_name.get(terminal.owner)
    if part is None or not isinstance(part.values, Tube):
        return terminal.label
    pin = int(key.rpartition(".")[2])
    names = [f"{t.name} {t.section}".strip().replace("_", " ") for t in part.terminals if pin in t.pins]
    return f"{terminal.label} ({names[0]})" if names else terminal.label


def lead_words(part: Part, lead: str) -> str:
    """Return how a lead is told from the other one: ``+``, ``-``, ``cathode (band)``, else its number."""
    if isinstance(part.values, Capacitor) and part.values.polar:
        return {"1": "+", "2": "-"}[lead]
    if isinstance(part.values, Diode):
        return "cathode (band)" if lead == "cathode" else lead
    return lead


def _purpose(build: Build, bond: str) -> str:
    part = build.part_by_name.get(bond)
    return f": {part.values.purpose}" if part is not None and isinstance(part.values, Bond) else ""


def wire_words(build: Build, plan: Plan, wire: Wire) -> str:
    """Return number, type, color, cut length, strip lengths and both ends of a wire."""
    first, second = (terminal_words(build, plan, key) for key in wire.terminals)
    many = sum(1 for other in plan.wires if other.twist == wire.twist) > 2
    twist = f", twisted with its partner{'s' if many else ''} ({wire.twist})" if wire.twist else ""
    twist += f"; it is the bond {wire.bond}{_purpose(build, wire.bond)}" if wire.bond else ""
    if wire.type == "lead":
        color = "" if wire.color in first else f" ({wire.color})"
        return (
            f"W{wire.number}: {first}{color}, the part's own, to {second}, cut at "
            f"{cut_length_mm(wire.length_mm):g} mm from its grommet, strip {wire.strip_mm[1]:g} mm{twist}."
        )
    return (
        f"W{wire.number}: {wire.color} {wire.type}, cut {cut_length_mm(wire.length_mm):g} mm, "
        f"strip {wire.strip_mm[0]:g} mm for {first} and {wire.strip_mm[1]:g} mm for {second}{twist}."
        f"{_braid_words(build, plan, wire)}"
    )


def _braid_words(build: Build, plan: Plan, wire: Wire) -> str:
    """Return what is done with the braid of a shielded wire at either end."""
    if not wire.shield:
        return ""
    near = braid_end(plan, wire)
    ends = [terminal_words(build, plan, key) for key in wire.terminals]
    jackets = [f" Jacket off {jacket:g} mm at {end}:" for jacket, end in zip(wire.jacket_mm, ends, strict=True)]
    return (
        f"{jackets[near]} comb the braid out, twist it, sleeve it, braid to "
        f"{terminal_words(build, plan, wire.shield)}; cut the core back to what it needs."
        f"{jackets[1 - near]} braid cut back to the jacket and sleeved over, soldered to nothing."
    )


def braid_end(plan: Plan, wire: Wire) -> int:
    """Return at which end of a shielded wire, 0 or 1, its braid is soldered: the nearer one."""
    at = plan.terminals[wire.shield]
    ends = [plan.terminals[key] for key in wire.terminals]
    apart = [math.dist((at.x_mm, at.y_mm, at.z_mm), (end.x_mm, end.y_mm, end.z_mm)) for end in ends]
    return 0 if apart[0] <= apart[1] else 1
