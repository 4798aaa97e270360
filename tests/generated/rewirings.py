"""Wirings for the tests: every resistor open, shorted and tenfold, every joint split, joints bridged, ends moved."""

from __future__ import annotations

import random
from collections.abc import Iterator

from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.elements import Capacitor, PentodeTube, Resistor, TriodeTube
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, ends_of

BRIDGE_OHM = 0.05


def every_rewiring(circuit: Circuit, *, bridges: int, seed: int = 1) -> tuple[Rewiring, ...]:
    """Return the circuit as planned and what may be wrong with it."""
    return (Rewiring("as planned"), *_values(circuit), *_ends(circuit, random.Random(seed), bridges))


def _values(circuit: Circuit) -> Iterator[Rewiring]:
    for e in circuit.elements:
        if isinstance(e, Resistor) and e.role in ("part", "contact", "heater", "bond"):
            yield Rewiring(f"{e.name} open", (SetValue(e.name, "ohm", 1e12),))
            yield Rewiring(f"{e.name} shorted", (SetValue(e.name, "ohm", 0.1),))
            yield Rewiring(f"{e.name} tenfold", (ScaleValue(e.name, "ohm", 10.0),))
        elif isinstance(e, Capacitor):
            yield Rewiring(f"{e.name} shorted", (SetValue(e.name, "leak_s", 1.0),))
            yield Rewiring(f"{e.name} leaky", (SetValue(e.name, "leak_s", 1e-6),))
            yield Rewiring(f"{e.name} open", (SetValue(e.name, "farad", 1e-15),))
        elif isinstance(e, TriodeTube | PentodeTube):
            yield Rewiring(f"{e.name} dead", (SetValue(e.name, "on", 0.0),))
            yield Rewiring(f"{e.name} weak", (ScaleValue(e.name, "on", 0.5),))


def _ends(circuit: Circuit, draw: random.Random, bridges: int) -> Iterator[Rewiring]:
    at: dict[str, list[tuple[str, str]]] = {}
    for element, end, joint in ends_of(circuit.elements):
        at.setdefault(joint, []).append((element, end))
    joints = list(at)
    for joint, ends in at.items():
        if joint == circuit.ground:
            yield from (Rewiring(f"{e}.{end} off ground", moved=(Moved(e, end, "loose"),)) for e, end in ends)
            continue
        for k in range(min(len(ends), 4)):
            off = ends[k : k + 1] if k < len(ends) - 1 else ends[: len(ends) // 2 + 1]
            moved = tuple(Moved(element, end, f"{joint}'") for element, end in off)
            yield Rewiring(f"{joint} split {k}", moved=moved)
        (element, end), other = draw.choice(ends), draw.choice(joints)
        yield Rewiring(f"{element}.{end} on {other}", moved=(Moved(element, end, other),))
    for _ in range(bridges):
        a, b = draw.sample(joints, 2)
        yield Rewiring(f"{a} bridged to {b}", bridges=(Bridge(a, b, BRIDGE_OHM),))
