"""Builds put together at random, no amplifier among them: whatever a person may write must still be drawn right."""

from __future__ import annotations

import random

from lugwright.buildfile.build import (
    Bond,
    Bridge,
    Build,
    Can,
    Capacitor,
    Choke,
    Diode,
    Fitted,
    Fuse,
    Inlet,
    Jack,
    Lamp,
    Part,
    Pot,
    Resistor,
    Speaker,
    Stage,
    Switch,
    Tank,
    Terminal,
    Thermistor,
    Transformer,
    Tube,
    Winding,
)  # fmt: skip
from lugwright.catalogue import load
from lugwright.circuit.operating import Certificate, Idle, JointIdle
from lugwright.findings import Place

BODY = load.body_row("metal film resistor", watts=0.5).body
STAGES = (
    ("one", "input"),
    ("two", "gain"),
    ("three", "output"),
    ("four", "supply"),
    ("five", "heater"),
    ("six", "mains"),
)
TUBES = ("12AX7", "6V6GT", "EL34", "EZ81", "GZ34", "6SN7GT")


def _transformer(role: str, *ends: tuple[str, int]) -> Transformer:
    windings = tuple(
        Winding(
            name, tuple(f"{name}.{k + 1}" for k in range(count)), (1.0,) * (count - 1), (1.0,) * (count - 1), None, ()
        )
        for name, count in ends
    )
    return Transformer(role, windings, 5.0, 0.1)


def _fitted() -> list[tuple[str, Fitted, tuple[str, ...]]]:
    two = ("1", "2")
    power = _transformer("power", ("primary", 2), ("hv", 3), ("heater", 3))
    output = _transformer("output", ("primary", 3), ("speaker", 4))
    return [
        ("R", Resistor(1e5, 0.05, 1.0, 500.0, BODY), two),
        ("C", Capacitor(2.2e-8, 0.1, 630.0, "film", BODY), two),
        ("C", Capacitor(2.2e-5, 0.2, 25.0, "electrolytic", BODY), two),
        ("C", Can((5e-5, 5e-5), 0.2, 500.0, BODY), ("a", "b", "minus")),
        ("L", Choke(5.0, 100.0, 0.1), two),
        ("CR", Diode(1000.0, 1.0, None, 0.0, BODY), ("anode", "cathode")),
        ("CR", Diode(0.0, 0.0, 24.0, 5.0, BODY), ("anode", "cathode")),
        ("CR", Bridge(1000.0, 2.0), ("ac1", "ac2", "plus", "minus")),
        ("R", Pot(1e6, 0.2, "audio", 0.5, 0.5, "Volume"), ("1", "2", "3")),
        ("R", Pot(1e6, 0.2, "linear", 0.5, 0.5, "Master", True), ("1", "2", "3", "s1", "s2")),
        ("J", Jack(True, True, False, "Input"), ("tip", "sleeve", "tip_switch")),
        ("J", Jack(True, False, False, "Out"), ("tip", "sleeve")),
        ("S", Switch(2, ("off", "on"), "on", "Mains", 250.0, 3.0), ("1.common", "1.1", "1.2", "2.common", "2.2")),
        ("S", Switch(1, ("a", "b", "c"), "b", "Voice", 250.0, 3.0), ("1.common", "1.1", "1.2", "1.3")),
        ("F", Fuse(0.5, "slow", 250.0, 0.2), two),
        ("DS", Lamp(6.3, 0.15), two),
        ("RT", Thermistor(50.0, 1.0, 1.0), two),
        ("P", Inlet(False), ("line", "neutral", "earth")),
        ("LS", Speaker(8.0, 30.0), ("plus", "minus")),
        ("DL", Tank(8.0, 2250.0), ("in", "in_ground", "out", "out_ground")),
        ("W", Bond("ground to the metal"), two),
        ("T", power, tuple(e for w in power.windings for e in w.ends)),
        ("T", output, tuple(e for w in output.windings for e in w.ends)),
    ]


def odd_build(seed: int) -> tuple[Build, Idle]:
    """Return a build and made-up voltages."""
    dice = random.Random(seed)
    joints = [f"joint {k}" for k in range(dice.randint(3, 25))] + [
        "ground",
        "ground",
        "ground",
        "chassis",
        "B+1",
        "B+2",
    ]
    parts: list[Part] = []
    for number in range(dice.randint(2, 45)):
        if dice.random() < 0.12:
            tube = load.tube_type(dice.choice(TUBES))
            values: Fitted = Tube(tube, tube.socket)
            name = f"V{number}"
            terminals = tuple(
                Terminal(name, electrode, dice.choice(joints), section, pins)
                for section, electrode, pins in tube.terminals()
            )
        else:
            prefix, values, names = dice.choice(_fitted())
            name = f"{prefix}{number}"
            picked = [dice.choice(joints) if dice.random() < 0.95 else "" for _ in names]
            if len(names) == 2:
                picked = dice.sample(sorted(set(joints)), 2)
            terminals = tuple(Terminal(name, terminal, joint) for terminal, joint in zip(names, picked, strict=True))
        parts.append(Part(name, "", dice.choice(STAGES)[0], values, terminals, Place("odd")))
    found: dict[str, list[Terminal]] = {}
    for part in parts:
        for terminal in part.terminals:
            if terminal.joint:
                found.setdefault(terminal.joint, []).append(terminal)
    stages = tuple(Stage(n, n.title(), duty, tuple(p.name for p in parts if p.stage == n)) for n, duty in STAGES)
    build = Build(
        "Odd", "odd", 230.0, 50.0, tuple(parts), stages, {k: tuple(v) for k, v in found.items()}, None, {}, (), ()
    )
    volts = {joint: JointIdle(dice.choice((0.0, 1.5, 180.0, -40.0)), 0.0, 0.0) for joint in found}
    certificate = Certificate(True, "", 0.0, 0.0, 0.0, 0.0, 0.0, 0, "")
    return build, Idle(volts, {}, {}, {}, 0.0, 0.0, None, None, certificate)
