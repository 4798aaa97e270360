"""A one-stage amplifier laid out by hand, small enough to follow with a finger."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import (
    Bond,
    Build,
    Bus,
    Capacitor,
    Chassis,
    Jack,
    Part,
    Placement,
    Pot,
    Resistor,
    Stage,
    Strip,
    Terminal,
    Transformer,
    Tube,
    Winding,
)  # fmt: skip
from lugwright.catalogue.records import Body, Heater, TubeSection, TubeType
from lugwright.findings import Place
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire
from lugwright.sources import Source

SOURCE = Source("made up for this test")
BODY = Body(6.0, 16.0, 0.7, 1.0, SOURCE)
TRIODE = TubeType(
    "TRIODE", (), "triode", "noval",
    (TubeSection("", {"plate": (1,), "grid": (2,), "cathode": (3,)}),),
    Heater(6.3, 0.3, {"heater1": 4, "heater2": 5}, SOURCE), {}, None, None, 0.2,
)  # fmt: skip


def part(name: str, kind: str, stage: str, values: object, joints: dict[str, str]) -> Part:
    terminals = tuple(
        Terminal(name, terminal, joint, pins=_pins(values, terminal)) for terminal, joint in joints.items()
    )
    return Part(name, kind, stage, values, terminals, Place("small.toml", 1))


def _pins(values: object, terminal: str) -> tuple[int, ...]:
    if not isinstance(values, Tube):
        return ()
    return values.type.sections[0].pins.get(terminal) or (values.type.heater.pins[terminal],)


def resistor(name: str, stage: str, ohm: float, one: str, two: str, tolerance: float = 0.05) -> Part:
    return part(name, "resistor", stage, Resistor(ohm, tolerance, 1.0, 350.0, BODY), {"1": one, "2": two})


def electrolytic(name: str, stage: str, plus: str, minus: str) -> Part:
    return part(name, "capacitor", stage, Capacitor(22e-6, 0.2, 25.0, "electrolytic", BODY), {"1": plus, "2": minus})


STAGES = (
    Stage("in", "Input stage", "input", ("J1", "R1", "R3", "R4", "C1", "V1", "R7")),
    Stage("out", "Output stage", "output", ("T2", "R9")),
    Stage("power", "B+ supply", "supply", ("R8", "T1")),
)


def small_build() -> Build:
    power = Winding("hv", ("hv.1", "hv.2"), (250.0,), (50.0,), 0.1, ("red", "red/yellow"))
    heater = Winding("heater", ("heater.1", "heater.2"), (6.3,), (0.1,), 2.0, ("green", "green"))
    primary = Winding("primary", ("primary.1", "primary.2"), (20.0,), (200.0,), None, ("blue", "red"))
    speaker = Winding("speaker", ("speaker.1", "speaker.2"), (1.0,), (0.5,), None, ("green", "black"))
    parts = (
        part("J1", "jack", "in", Jack(True, False, False, "In"), {"tip": "in", "sleeve": "ground"}),
        resistor("R1", "in", 1e6, "in", "ground"),
        part("V1", "tube", "in", Tube(TRIODE, "noval"), {
            "plate": "V1.plate", "grid": "in", "cathode": "V1.cathode", "heater1": "h1", "heater2": "h2"}),
        resistor("R3", "in", 100e3, "B+1", "V1.plate"),
        resistor("R4", "in", 1.5e3, "V1.cathode", "ground", 0.01),
        electrolytic("C1", "in", "V1.cathode", "ground"),
        part("R7", "pot", "in", Pot(1e6, 0.2, "audio", 0.5, 0.25, "Volume"),
             {"1": "ground", "2": "wiper", "3": "V1.plate"}),
        part("T2", "output transformer", "out", Transformer("output", (primary, speaker), 10.0, 0.01),
             {"primary.1": "V1.plate", "primary.2": "B+1", "speaker.1": "speaker", "speaker.2": "ground"}),
        resistor("R9", "out", 10e3, "speaker", "V1.cathode"),
        resistor("R8", "power", 1e3, "raw", "B+1"),
        part("T1", "power transformer", "power", Transformer("power", (power, heater), 5.0, 0.01),
             {"hv.1": "raw", "hv.2": "ground", "heater.1": "h1", "heater.2": "h2"}),
        part("W1", "bond", "power", Bond("ground to chassis"), {"1": "ground", "2": "chassis"}),
        part("W2", "bond", "power", Bond("earth"), {"1": "earth", "2": "chassis"}),
        part("P1", "inlet", "power", Jack(True, False, False, "Mains"), {"earth": "earth"}),
    )  # fmt: skip
    joints: dict[str, tuple[Terminal, ...]] = {}
    for one in parts:
        for terminal in one.terminals:
            joints[terminal.joint] = (*joints.get(terminal.joint, ()), terminal)
    return Build(
        "Small", "small.toml", 120.0, 60.0, parts, STAGES, joints, Chassis(200.0, 120.0, 50.0),
        {
            "V1": Placement((60.0, 40.0), 180.0), "J1": Placement((20.0, 25.0), 0.0, "front"),
            "R7": Placement((60.0, 25.0), 0.0, "front"), "T1": Placement((160.0, 40.0)), "T2": Placement((120.0, 40.0)),
            "P1": Placement((180.0, 25.0), 0.0, "rear"),
        },
        (Strip("A", 6, (6,), (40.0, 70.0), 0.0, "plain"),),
        (Bus("bus", "ground", ((20.0, 90.0), (100.0, 90.0)), 15.0),),
    )  # fmt: skip


_LUGS = {1: "B+1", 2: "V1.plate", 3: "V1.cathode", 4: "raw", 5: "speaker", 6: "chassis"}


def _terminals() -> dict[str, PlanTerminal]:
    found = [
        PlanTerminal(f"A.{n}", "A", "foot" if n == 6 else "lug", 40.0 + 9.5 * (n - 1), 70.0, 14.0, joint, 4,
                     f"strip A lug {n}")
        for n, joint in _LUGS.items()
    ]  # fmt: skip
    pins = {1: "V1.plate", 2: "in", 3: "V1.cathode", 4: "h1", 5: "h2"}
    found += [
        PlanTerminal(f"V1.{n}", "V1", "pin", 52.0 + 4.0 * n, 40.0, 10.0, joint, 3, f"V1 pin {n}")
        for n, joint in pins.items()
    ]
    found += [
        PlanTerminal(f"bus.{n}", "bus", "bus", 20.0 + 20.0 * (n - 1), 90.0, 15.0, "ground", 3, f"bus point {n}")
        for n in range(1, 6)
    ]
    found += [
        PlanTerminal("J1.tip", "J1", "jack", 20.0, 110.0, 25.0, "in", 2, "J1 tip"),
        PlanTerminal("J1.sleeve", "J1", "jack", 24.0, 110.0, 25.0, "ground", 2, "J1 sleeve"),
        PlanTerminal("R7.1", "R7", "pot", 60.0, 110.0, 25.0, "ground", 2, "R7 lug 1"),
        PlanTerminal("R7.3", "R7", "pot", 66.0, 110.0, 25.0, "V1.plate", 2, "R7 lug 3"),
        PlanTerminal("chassis.1", "chassis", "bolt", 170.0, 15.0, 4.0, "chassis", 1, "earth bolt"),
        PlanTerminal("P1.earth", "P1", "panel", 180.0, 8.0, 25.0, "earth", 1, "P1 earth"),
    ]
    exits = {"T1.hv.1": "raw", "T1.hv.2": "ground", "T1.heater.1": "h1", "T1.heater.2": "h2",
             "T2.primary.1": "V1.plate", "T2.primary.2": "B+1", "T2.speaker.1": "speaker",
             "T2.speaker.2": "ground"}  # fmt: skip
    found += [
        PlanTerminal(key, key[:2], "exit", 110.0 + 6.0 * n, 50.0, 2.0, joint, 1, f"{key} lead")
        for n, (key, joint) in enumerate(exits.items())
    ]
    return {terminal.key: terminal for terminal in found}


def seat(name: str, one: str, two: str, layer: int = 1, z_mm: float = 8.0) -> SeatedPart:
    return SeatedPart(name, (one, two), ("1", "2"), layer, 16.0, 6.0, z_mm, 30.0)


def wire(
    number: int, joint: str, one: str, two: str, kind: str, *, type: str = "22 AWG solid 600 V", twist: str = "",
    over: tuple[str, ...] = (), length_mm: float = 81.2, bond: str = "",
) -> Wire:  # fmt: skip
    ends = _terminals()
    route = tuple((ends[key].x_mm, ends[key].y_mm, 3.0) for key in (one, two))
    return Wire(number, joint, (one, two), kind, type, "red", route, length_mm, (7.0, 8.0), twist, over, bond)


def small_plan() -> Plan:
    seats = (
        seat("R1", "J1.tip", "bus.1"), seat("R3", "A.1", "V1.1"), seat("R4", "V1.3", "bus.3"),
        seat("C1", "A.3", "bus.4", layer=2, z_mm=18.0), seat("R8", "A.4", "A.1"), seat("R9", "A.5", "A.3", layer=1),
    )  # fmt: skip
    wires = (
        wire(1, "h1", "T1.heater.1", "V1.4", "heater", type="lead", twist="heater"),
        wire(2, "h2", "T1.heater.2", "V1.5", "heater", type="lead", twist="heater"),
        wire(3, "in", "J1.tip", "V1.2", "grid", length_mm=85.0),
        wire(4, "V1.plate", "V1.1", "A.2", "plate"),
        wire(5, "V1.plate", "A.2", "R7.3", "signal"),
        wire(6, "V1.cathode", "V1.3", "A.3", "cathode"),
        wire(7, "raw", "T1.hv.1", "A.4", "B+", type="lead"),
        wire(8, "ground", "T1.hv.2", "bus.5", "ground", type="lead"),
        wire(9, "V1.plate", "T2.primary.1", "A.2", "plate", type="lead"),
        wire(10, "B+1", "T2.primary.2", "A.1", "B+", type="lead"),
        wire(11, "speaker", "T2.speaker.1", "A.5", "speaker", type="lead"),
        wire(12, "ground", "T2.speaker.2", "bus.5", "ground", type="lead"),
        wire(13, "ground", "J1.sleeve", "bus.1", "ground"),
        wire(14, "ground", "R7.1", "bus.2", "ground"),
        wire(15, "ground", "bus.2", "A.6", "ground", bond="W1"),
        wire(16, "earth", "P1.earth", "chassis.1", "earth", bond="W2"),
    )
    return Plan("Small", _terminals(), seats, wires, (), {})


def with_over(plan: Plan, number: int, over: tuple[str, ...]) -> Plan:
    wires = tuple(replace(w, lies_over=over) if w.number == number else w for w in plan.wires)
    return replace(plan, wires=wires)
