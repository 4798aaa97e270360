"""A crowded chassis of plain records: three layers of parts, wires that run on one another, every kind of metal."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from lugwright.buildfile.build import (
    Bond,
    Build,
    Bus,
    Can,
    Capacitor,
    Chassis,
    Diode,
    Fitted,
    Fuse,
    Inlet,
    Jack,
    Part,
    Placement,
    Pot,
    Resistor,
    Stage,
    Strip,
    Switch,
    Terminal,
    Transformer,
    Tube,
    Winding,
)
from lugwright.catalogue import load
from lugwright.catalogue.records import Body
from lugwright.findings import Place
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire
from lugwright.sources import Source

FROM = Source(title="from memory: a test", read="memory")
LUGS = (1, 2, 3, 5, 6, 7, 8)  # lug 4 is the foot
STRIPS = {"A": (20.0, 85.0), "B": (110.0, 85.0), "C": (20.0, 125.0), "D": (110.0, 125.0)}


def _part(name: str, kind: str, values: Fitted, **joints: str) -> Part:
    terminals = tuple(Terminal(name, terminal.replace("__", "."), joint) for terminal, joint in joints.items())
    return Part(name, kind, "all", values, terminals, Place("dense.toml", 1))


def _tube(name: str, type_name: str) -> Part:
    kind = load.tube_type(type_name)
    terminals = tuple(Terminal(name, e, f"{name}{s}.{e}", s, pins) for s, e, pins in kind.terminals())
    return Part(name, "tube", "all", Tube(kind, kind.socket), terminals, Place("dense.toml", 1))


def _resistor(name: str) -> Part:
    row = load.body_row("metal film resistor", watts=0.5)
    return _part(name, "resistor", Resistor(47e3, 0.05, 0.5, row.volts, row.body), **{"1": "a", "2": "b"})


def _capacitor(name: str, style: str) -> Part:
    kind = "axial electrolytic" if style == "electrolytic" else "film capacitor"
    body = load.body_row(kind, farad=22e-9 if style == "film" else 22e-6, volts=63.0).body
    farad = 22e-9 if style == "film" else 22e-6
    return _part(name, "capacitor", Capacitor(farad, 0.1, 63.0, style, body), **{"1": "a", "2": "b"})


def _metal() -> list[Part]:
    hv = Winding("hv", ("hv.1", "hv.ct", "hv.2"), (275.0, 275.0), (80.0, 80.0), 0.1, ("red", "red/yellow", "red"))
    can = Can((32e-6, 16e-6), 0.2, 450.0, Body(25.4, 60.0, 1.0, 60.0, FROM))
    return [
        _tube("V1", "12AX7"),
        _tube("V2", "12AX7"),
        _tube("V3", "6V6GT"),
        _part("J1", "jack", Jack(True, True, True, "input <1> & 2"), tip="in", sleeve="ground", tip_switch="ground"),
        _part("R101", "pot", Pot(1e6, 0.2, "audio", 0.5, 0.2, "volume"), **{"1": "ground", "2": "wiper", "3": "in"}),
        _part("S1", "switch", Switch(1, ("off", "on"), "on", "power", 250.0, 3.0), **{"1__common": "x", "1__2": "y"}),
        _part("F1", "fuse", Fuse(1.0, "slow", 250.0, 0.1), **{"1": "line", "2": "x"}),
        _part("P1", "inlet", Inlet(False), line="line", neutral="neutral", earth="earth"),
        _part("T1", "transformer", Transformer("power", (hv,), 10.0, 0.01),
              hv__1="hv1", hv__ct="ground", hv__2="hv2"),
        _part("C90", "can", can, a="B+1", b="B+2", minus="ground"),
        _part("W1", "bond", Bond("ground to the metal"), **{"1": "ground", "2": "chassis"}),
        _part("W2", "bond", Bond("protective earth"), **{"1": "earth", "2": "chassis"}),
    ]  # fmt: skip


def _seats() -> list[tuple[Part, str, str, int]]:
    """Return part, its two terminals, layer: resistors side by side, then capacitors across, then more on top."""
    found: list[tuple[Part, str, str, int]] = []
    for upper, lower, pins in (("A", "C", "V1"), ("B", "D", "V2")):
        for n, lug in enumerate(LUGS):
            found.append((_resistor(f"R{len(found) + 1}"), f"{upper}.{lug}", f"{lower}.{lug}", 1))
            if n % 2 == 0 and n + 1 < len(LUGS):
                style = "electrolytic" if n % 4 else "film"
                far = f"{lower}.{LUGS[n + 1]}"
                found.append((_capacitor(f"C{len(found) + 1}", style), f"{upper}.{lug}", far, 2))
        for pin, lug in ((1, 2), (2, 3), (3, 5), (6, 7), (8, 6)):
            found.append((_resistor(f"R{len(found) + 1}"), f"{pins}.{pin}", f"{upper}.{lug}", 1))
        found.append((_capacitor(f"C{len(found) + 1}", "film"), f"{pins}.1", f"{upper}.5", 3))
    diode = Diode(1000.0, 1.0, None, 0.0, load.body_row("diode").body)
    found.append((_part("CR1", "diode", diode, anode="a", cathode="b"), "D.7", "D.8", 1))
    return found


def _wires(t: dict[str, PlanTerminal]) -> list[Wire]:
    """Return wires of which many run along one line, and one pair of twisted heater wires."""
    grounded = [f"{strip}.{lug}" for strip in "CD" for lug in (1, 3, 6, 8)]
    ends = [(lug, f"bus.{k}") for k, lug in enumerate(grounded, start=2)]
    ends += [("R101.3", "A.2"), ("R101.2", "A.6"), ("J1.tip", "A.1"), ("C90.a", "D.2"), ("C90.b", "B.8"),
             ("A.1", "A.8"), ("B.1", "B.8"), ("P1.line", "F1.1"), ("F1.2", "S1.1.common")]  # fmt: skip
    ends.append(("J1.sleeve", "J1.tip_switch"))
    colors = ("black", "red", "white", "yellow", "blue", "green-yellow", "red/yellow", "gray")
    found = []
    for number, (a, b) in enumerate(ends, start=1):
        route = _route(t[a], t[b], 5.0 if number % 2 else 12.0)
        over = ("R1",) if number % 5 == 0 else ()
        found.append(Wire(number, t[a].joint, (a, b), "signal", "22", colors[number % len(colors)], route, 100.0,
                          (8.0, 8.0), "", over))  # fmt: skip
    for a, b in (("V1.4", "V2.4"), ("V1.9", "V2.9"), ("T1.hv.1", "V3.2"), ("T1.hv.2", "V3.7")):
        twist = "V1-V2" if a.startswith("V") else "T1-V3"
        found.append(Wire(len(found) + 1, "heater", (a, b), "heater", "18", "brown", _route(t[a], t[b], 3.0), 90.0,
                          (5.0, 5.0), twist, ()))  # fmt: skip
    return found


def _route(a: PlanTerminal, b: PlanTerminal, lane: float) -> tuple[tuple[float, float, float], ...]:
    if abs(a.x_mm - b.x_mm) + abs(a.y_mm - b.y_mm) < 20.0:
        return ((a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm))
    corner = (a.x_mm, b.y_mm)
    points = [(a.x_mm, a.y_mm, a.z_mm), (a.x_mm, a.y_mm, lane), (*corner, lane), (b.x_mm, b.y_mm, lane),
              (b.x_mm, b.y_mm, b.z_mm)]  # fmt: skip
    return tuple(points)


@cache
def dense() -> tuple[Build, Plan, Hardware]:
    """Return the build, its plan and its hardware."""
    seats = _seats()
    parts = (*_metal(), *(part for part, *_ in seats))
    joints: dict[str, tuple[Terminal, ...]] = {}
    for part in parts:
        for terminal in part.terminals:
            joints[terminal.joint] = (*joints.get(terminal.joint, ()), terminal)
    places = {
        "V1": Placement((60.0, 45.0), 180.0), "V2": Placement((145.0, 45.0), 180.0),
        "V3": Placement((220.0, 60.0), 30.0),
        "J1": Placement((30.0, 30.0), panel="front"), "R101": Placement((75.0, 30.0), panel="front"),
        "S1": Placement((280.0, 30.0), panel="front"), "F1": Placement((210.0, 30.0), panel="rear"),
        "P1": Placement((275.0, 30.0), panel="rear"), "T1": Placement((265.0, 90.0), 0.0),
        "C90": Placement((225.0, 135.0), 0.0),
    }  # fmt: skip
    strips = tuple(Strip(name, 8, (4,), at, 0.0, "strip 9.5") for name, at in STRIPS.items())
    stages = (Stage("all", "All", "gain", tuple(p.name for p in parts)),)
    buses = (Bus("bus", "ground", ((20.0, 150.0), (200.0, 150.0)), 12.0),)
    chassis = Chassis(320.0, 190.0, 60.0)
    build = Build("Dense & <crowded>", "dense.toml", 120.0, 60.0, parts, stages, joints, chassis, places, strips, buses)
    terminals = fixed_terminals(build)
    for key, terminal in terminals.items():
        if terminal.kind == "lug":
            terminals[key] = replace(terminal, joint=f"j{key}")
    seated = []
    for part, a, b, layer in seats:
        ends = (terminals[a], terminals[b])
        span = ((ends[0].x_mm - ends[1].x_mm) ** 2 + (ends[0].y_mm - ends[1].y_mm) ** 2) ** 0.5
        body = part.values.body
        names = tuple(t.name for t in part.terminals)
        seated.append(SeatedPart(part.name, (a, b), names, layer, body.length_mm, body.diameter_mm, 8.0 + 6.0 * layer,
                                 round(span, 1)))  # fmt: skip
    plan = Plan(build.title, terminals, tuple(seated), tuple(_wires(terminals)), (), {})
    return build, plan, hardware_for(build)
