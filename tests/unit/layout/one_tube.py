"""One tube, one strip, six resistors, all pinned: a plan that no search can make otherwise."""

from __future__ import annotations

from lugwright.buildfile.build import Build, Bus, Chassis, Jack, Placement, Stage, Strip, Terminal, Wishes

from .amplifier import Drawing

PINS = {
    "R1": ("A.2", "V1.2"),
    "R2": ("A.2", "bus.2"),
    "R3": ("A.5", "V1.1"),
    "R4": ("V1.3", "bus.4"),
}


def one_tube(pins: dict[str, tuple[str, str]] | None = None, lugs: int = 7) -> tuple[Build, dict[str, float]]:
    """Return a single stage and its joint volts: grid stopper R1, leak R2, plate R3, cathode R4."""
    d = Drawing()
    d.begin("first", "input")
    d.add("J1", "jack", Jack(True, False, True, "input"),
          (Terminal("J1", "tip", "in"), Terminal("J1", "sleeve", "ground")))  # fmt: skip
    d.placements["J1"] = Placement((20.0, 30.0), panel="front")
    d.resistor(68e3, "in", "V1a.grid")
    d.resistor(1e6, "in", "ground")
    d.resistor(100e3, "B+3", "V1a.plate", watts=1.0)
    d.resistor(1500.0, "V1a.cathode", "ground")
    d.tube("V1", "12AX7", {f"a{e}": f"V1a.{e}" for e in ("plate", "grid", "cathode")}, (60.0, 30.0), 180.0)
    joints: dict[str, list[Terminal]] = {}
    for part in d.parts:
        for terminal in part.terminals:
            if terminal.joint:
                joints.setdefault(terminal.joint, []).append(terminal)
    build = Build(
        "One tube", "one.toml", 120.0, 60.0, tuple(d.parts),
        tuple(Stage(name, name, d.duties[name], tuple(parts)) for name, parts in d.stages.items()),
        {name: tuple(terminals) for name, terminals in joints.items()},
        Chassis(140.0, 110.0, 60.0), d.placements, (Strip("A", lugs, (4,), (30.0, 66.0), 0.0, "strip 9.5"),),
        (Bus("bus", "ground", ((30.0, 48.0), (110.0, 48.0)), 12.0),),
        wishes=Wishes(between=PINS if pins is None else pins),
    )  # fmt: skip
    return build, {"B+3": 250.0, "V1a.plate": 160.0, "V1a.cathode": 1.5}
