"""Small builds and their idles made of plain records, and what the rating rules say of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from lugwright.buildfile.build import Build, Fitted, Part, Resistor, Terminal, Transformer, Tube, Winding
from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import Body
from lugwright.circuit.elements import Windings
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.operating import Certificate, Idle, JointIdle, PartIdle, TubeIdle, WindingIdle
from lugwright.circuit.rules import ratings
from lugwright.findings import Place
from lugwright.quantities import with_unit
from lugwright.sources import Source

BODY = Body(6.0, 16.0, 0.7, 1.0, Source("made up for this test"))
CERTIFICATE = Certificate(True, "", 0.0, 1e-9, 0.0, 0.0, 0.0, 0, "Newton")
AMPLIFIER_KEYS = ("plate_to_cathode_v", "grid_to_cathode_v", "screen_to_cathode_v", "plate_a", "screen_a", "grid_a",
                  "plate_w", "screen_w", "transconductance_a_per_v", "plate_resistance_ohm")  # fmt: skip


def part(name: str, kind: str, values: Fitted, **joints: str) -> Part:
    """Return a part; a terminal is written with _ for its dot, and with a leading _ for a figure (_1)."""
    terminals = tuple(Terminal(name, key.lstrip("_").replace("_", "."), joint) for key, joint in joints.items())
    return Part(name, kind, "", values, terminals, Place("amp.toml", 7))


def resistor(name: str, ohm: float, first: str, second: str, *, watts: float = 0.5, volts: float = 350.0) -> Part:
    """Return a resistor between two joints."""
    return part(name, "resistor", Resistor(ohm, 0.05, watts, volts, BODY), _1=first, _2=second)


def tube(name: str, type_name: str, **joints: str) -> Part:
    """Return a tube; electrodes not named (plate, a_plate) stand on joints of their own."""
    values = Tube(tube_type(type_name), tube_type(type_name).socket)
    terminals = []
    for section, electrode, pins in values.type.terminals():
        key = f"{section}_{electrode}" if section else electrode
        terminals.append(Terminal(name, electrode, joints.get(key, f"{name}{section}.{electrode}"), section, pins))
    return Part(name, "tube", "", values, tuple(terminals), Place("amp.toml", 7))


def winding(name: str, turns: tuple[float, ...], *, amps: float | None = None, ohm: float = 10.0) -> Winding:
    """Return a winding with ends 1, 2, ..."""
    ends = tuple(f"{name}.{k + 1}" for k in range(len(turns) + 1))
    return Winding(name, ends, turns, tuple(ohm for _ in turns), amps, ())


def transformer(name: str, role: str, windings: tuple[Winding, ...], *joints: str) -> Part:
    """Return a transformer; joints in the order of the windings and their ends."""
    ends = [end for one in windings for end in one.ends]
    terminals = tuple(Terminal(name, end, joint) for end, joint in zip(ends, joints, strict=True))
    values = Transformer(role, windings, 5.0, 0.0)
    return Part(name, "transformer", "", values, terminals, Place("amp.toml", 7))


def build_of(*parts: Part, mains_v: float = 120.0) -> Build:
    """Return a build of some parts, with a resistor that gives it a ground."""
    every = (*parts, resistor("R90", 1e3, "ground", "anchor"))
    joints: dict[str, list[Terminal]] = {}
    for one in every:
        for terminal in one.terminals:
            joints.setdefault(terminal.joint, []).append(terminal)
    frozen = {joint: tuple(terminals) for joint, terminals in joints.items()}
    return Build("Bench", "amp.toml", mains_v, 60.0, every, (), frozen, None, {}, (), ())


def idle_of(
    build: Build,
    volts: Mapping[str, float] | None = None,
    parts: Mapping[str, Mapping[str, float]] | None = None,
    tubes: Mapping[str, Mapping[str, float | None]] | None = None,
    windings: Mapping[str, float] | None = None,
) -> Idle:
    """Return an idle; whatever is not given is 0."""
    circuit = circuit_from_build(build)
    names = [c.name for e in circuit.elements for c in (e.coils if isinstance(e, Windings) else (e,))]
    zero = dict.fromkeys(("volts", "amps", "rms_a", "peak_a", "peak_v", "inverse_v", "watts"), 0.0)
    given = parts or {}
    all_windings = {
        f"{p.name}.{w.name}": w.amps
        for p in build.parts
        if isinstance(p.values, Transformer)
        for w in p.values.windings
    }
    nothing: dict[str, Any] = dict.fromkeys(AMPLIFIER_KEYS, 0.0)
    return Idle(
        joints={j: JointIdle((volts or {}).get(j, 0.0), 0.0, 0.0) for j in build.joints},
        parts={n: PartIdle(n, n.split(".")[0], **{**zero, **given.get(n, {})}) for n in names},
        tubes={n: TubeIdle(n, n.rstrip("ab"), **{**nothing, **figures}) for n, figures in (tubes or {}).items()},
        windings={n: WindingIdle(n, 0.0, (windings or {}).get(n, 0.0), 0.0, a) for n, a in all_windings.items()},
        mains_rms_a=1.0,
        mains_w=0.0,
        lamp_rms_v=None,
        lamp_brightness=None,
        certificate=CERTIFICATE,
    )


def with_ripple(idle: Idle, joint: str, *, rms_v: float, peak_to_peak_v: float) -> Idle:
    """Return the idle with ripple on one joint."""
    rippled = replace(idle.joints[joint], ripple_rms_v=rms_v, ripple_peak_to_peak_v=peak_to_peak_v)
    return replace(idle, joints={**idle.joints, joint: rippled})


def told(build: Build, idle: Idle, cold: Idle | None = None, *, rules: tuple[str, ...]) -> list[str]:
    """Return, line by line, what the named rules say: figures against limits, then findings."""
    rows, findings = ratings(build, idle, cold or idle)
    lines = [
        f"{r.part}: {r.what}: {with_unit(r.value, r.unit)} {'at least' if r.at_least else 'of'} "
        f"{with_unit(r.limit, r.unit)}"
        for r in rows
        if r.rule in rules
    ]
    texts = [str(f) for f in findings if f.rule in rules]
    return [*lines, *(line.strip() for text in texts for line in text.split("\n"))]
