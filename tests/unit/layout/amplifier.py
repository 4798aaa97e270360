"""Amplifier-like builds of any size, made of plain records."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.buildfile.build import (
    Bond,
    Build,
    Bus,
    Can,
    Capacitor,
    Chassis,
    Choke,
    Diode,
    Fitted,
    Fuse,
    Inlet,
    Jack,
    Lamp,
    Part,
    Placement,
    Pot,
    Resistor,
    Speaker,
    Stage,
    Strip,
    Switch,
    Terminal,
    Thermistor,
    Transformer,
    Tube,
    Winding,
)
from lugwright.catalogue import load
from lugwright.findings import Place

PITCH_MM = 72.0
SUPPLY_MM = 150.0


class Drawing:
    """Collects parts while an amplifier is drawn up."""

    def __init__(self) -> None:
        self.parts: list[Part] = []
        self.stages: dict[str, list[str]] = {}
        self.duties: dict[str, str] = {}
        self.placements: dict[str, Placement] = {}
        self.count: dict[str, int] = {}
        self.stage = ""

    def begin(self, stage: str, duty: str) -> None:
        self.stage = stage
        self.stages[stage] = []
        self.duties[stage] = duty

    def add(self, name: str, kind: str, values: Fitted, terminals: Sequence[Terminal]) -> str:
        self.parts.append(
            Part(name, kind, self.stage, values, tuple(terminals), Place("amp.toml", len(self.parts) + 1))
        )
        self.stages[self.stage].append(name)
        return name

    def next_name(self, letter: str) -> str:
        self.count[letter] = self.count.get(letter, 0) + 1
        return f"{letter}{self.count[letter]}"

    def resistor(self, ohm: float, a: str, b: str, watts: float = 0.5) -> str:
        name = self.next_name("R")
        row = load.body_row("metal film resistor", watts=watts)
        values = Resistor(ohm, 0.05, watts, row.volts, row.body)
        return self.add(name, "resistor", values, (Terminal(name, "1", a), Terminal(name, "2", b)))

    def capacitor(self, farad: float, volts: float, a: str, b: str, style: str = "film") -> str:
        name = self.next_name("C")
        kind = "axial electrolytic" if style == "electrolytic" else "film capacitor"
        values = Capacitor(farad, 0.1, volts, style, load.body_row(kind, farad=farad, volts=volts).body)
        return self.add(name, "capacitor", values, (Terminal(name, "1", a), Terminal(name, "2", b)))

    def diode(self, anode: str, cathode: str) -> str:
        name = self.next_name("CR")
        values = Diode(1000.0, 1.0, None, 0.0, load.body_row("diode").body)
        return self.add(name, "diode", values, (Terminal(name, "anode", anode), Terminal(name, "cathode", cathode)))

    def tube(
        self, name: str, type_name: str, joints: dict[str, str], at: tuple[float, float], turn: float = 0.0
    ) -> None:
        kind = load.tube_type(type_name)
        terminals = [
            Terminal(name, electrode, joints.get(f"{letter}{electrode}", ""), letter, pins)
            for letter, electrode, pins in kind.terminals()
        ]
        self.add(name, "tube", Tube(kind, kind.socket), terminals)
        self.placements[name] = Placement(at, turn)


def amplifier(
    preamp_tubes: int = 1, *, lugs: int = 9, title: str = "Sanderling", old_style: bool = False
) -> tuple[Build, dict[str, float]]:
    """Return a single-ended amplifier with that many double triodes in front, and its joint volts.

    An ``old_style`` one has a rectifier tube, a can, a choke, an inrush limiter and a pilot lamp.
    """
    d = Drawing()
    volts: dict[str, float] = {}
    width = SUPPLY_MM + PITCH_MM * (preamp_tubes + 1) + 20.0
    last = _preamp(d, preamp_tubes, volts)
    _output(d, last, PITCH_MM * preamp_tubes + 40.0, volts)
    _supply(d, preamp_tubes, width, volts, old_style=old_style)
    joints: dict[str, list[Terminal]] = {}
    for part in d.parts:
        for terminal in part.terminals:
            if terminal.joint:
                joints.setdefault(terminal.joint, []).append(terminal)
    build = Build(
        title, "amp.toml", 120.0, 60.0, tuple(d.parts),
        tuple(Stage(name, name, d.duties[name], tuple(parts)) for name, parts in d.stages.items()),
        {name: tuple(terminals) for name, terminals in joints.items()},
        Chassis(width, 190.0, 64.0), d.placements, tuple(_strips(preamp_tubes, lugs)),
        (Bus("bus", "ground", ((20.0, 138.0), (width - 60.0, 138.0)), 12.0),),
    )  # fmt: skip
    return build, volts


def _preamp(d: Drawing, tubes: int, volts: dict[str, float]) -> str:
    signal = "in"
    for n in range(1, tubes + 1):
        x = 40.0 + PITCH_MM * (n - 1)
        d.begin(f"gain {n}", "input" if n == 1 else "gain")
        if n == 1:
            d.add("J1", "jack", Jack(True, True, True, "input"),
                  (Terminal("J1", "tip", "in"), Terminal("J1", "sleeve", "ground"),
                   Terminal("J1", "tip_switch", "ground")))  # fmt: skip
            d.placements["J1"] = Placement((x - 8.0, 30.0), panel="front")
        joints = {"heater1": "heater1", "heater2": "heater1", "heater_tap": "heater2"}
        supply = f"B+{tubes + 2 - n + 1}"
        for letter in ("a", "b"):
            v = f"V{n}{letter}"
            joints |= {f"{letter}{e}": f"{v}.{e}" for e in ("plate", "grid", "cathode")}
            d.resistor(68e3, signal, f"{v}.grid")
            d.resistor(1e6, signal, "ground")
            d.resistor(100e3, supply, f"{v}.plate", watts=1.0)
            d.resistor(1500.0, f"{v}.cathode", "ground")
            d.capacitor(22e-6, 25.0, f"{v}.cathode", "ground", "electrolytic")
            d.capacitor(22e-9, 400.0, f"{v}.plate", f"{v}.out")
            volts |= {f"{v}.plate": 190.0, f"{v}.cathode": 1.5}
            signal = f"{v}.out"
        pot = f"R{100 + n}"
        d.add(
            pot,
            "pot",
            Pot(1e6, 0.2, "audio", 0.5, 0.25, f"volume {n}"),
            (Terminal(pot, "1", "ground"), Terminal(pot, "2", f"{pot}.wiper"), Terminal(pot, "3", signal)),
        )
        d.placements[pot] = Placement((x + 28.0, 30.0), panel="front")
        signal = f"{pot}.wiper"
        d.tube(f"V{n}", "12AX7", joints, (x, 42.0), 180.0)
    return signal


def _output(d: Drawing, signal: str, x: float, volts: dict[str, float]) -> None:
    d.begin("output", "output")
    d.resistor(1500.0, signal, "V90.grid")
    d.resistor(220e3, signal, "ground")
    d.resistor(470.0, "V90.cathode", "ground", watts=5.0)
    d.capacitor(22e-6, 50.0, "V90.cathode", "ground", "electrolytic")
    d.resistor(470.0, "B+2", "V90.screen", watts=1.0)
    joints = {"plate": "V90.plate", "grid": "V90.grid", "screen": "V90.screen", "cathode": "V90.cathode",
              "heater1": "heater1", "heater2": "heater2"}  # fmt: skip
    d.tube("V90", "6V6GT", joints, (x, 45.0), 0.0)
    primary = Winding("primary", ("primary.blue", "primary.red"), (40.0,), (250.0,), None, ("blue", "red"))
    secondary = Winding("secondary", ("secondary.black", "secondary.green"), (1.0,), (0.5,), None, ("black", "green"))
    d.add("T2", "output transformer", Transformer("output", (primary, secondary), 10.0, 0.02),
          (Terminal("T2", "primary.blue", "V90.plate"), Terminal("T2", "primary.red", "B+1"),
           Terminal("T2", "secondary.black", "ground"), Terminal("T2", "secondary.green", "speaker")))  # fmt: skip
    d.placements["T2"] = Placement((x + 40.0, 80.0), 180.0)
    d.add("J2", "jack", Jack(True, False, True, "speaker"),
          (Terminal("J2", "tip", "speaker"), Terminal("J2", "sleeve", "ground")))  # fmt: skip
    d.placements["J2"] = Placement((x + 30.0, 30.0), panel="rear")
    d.add(
        "LS1", "speaker", Speaker(8.0, 10.0), (Terminal("LS1", "plus", "speaker"), Terminal("LS1", "minus", "ground"))
    )
    volts |= {"V90.plate": 380.0, "V90.screen": 370.0, "V90.cathode": 20.0}


def _supply(d: Drawing, tubes: int, width: float, volts: dict[str, float], *, old_style: bool) -> None:
    d.begin("supply", "supply")
    if old_style:
        _old_supply(d, width)
    else:
        d.diode("hv1", "B+1")
        d.diode("hv2", "B+1")
    for n in range(1, tubes + 3):
        if n > 2 or not old_style:
            d.capacitor(22e-6, 450.0, f"B+{n}", "ground", "electrolytic")
        volts[f"B+{n}"] = 390.0 - 12.0 * n
        if n > (2 if old_style else 1):
            d.resistor(4700.0, f"B+{n - 1}", f"B+{n}", watts=2.0)
    d.begin("heater", "heater")
    d.resistor(100.0, "heater1", "ground")
    d.resistor(100.0, "heater2", "ground")
    if old_style:
        d.add("DS1", "lamp", Lamp(6.3, 0.15), (Terminal("DS1", "1", "heater1"), Terminal("DS1", "2", "heater2")))
        d.placements["DS1"] = Placement((width - 80.0, 30.0), panel="front")
    _mains(d, width, old_style=old_style)


def _old_supply(d: Drawing, width: float) -> None:
    filament = {"plate1": "hv1", "plate2": "hv2", "heater1": "filament", "heater2": "B+1"}
    d.tube("V91", "5Y3GT", filament, (width - 80.0, 60.0))
    d.add("L1", "choke", Choke(5.0, 100.0, 0.1), (Terminal("L1", "1", "B+1"), Terminal("L1", "2", "B+2")))
    d.placements["L1"] = Placement((width - 140.0, 30.0))
    body = load.body_row("can", farad=22e-6, volts=450.0).body
    sections = (Terminal("C90", "a", "B+1"), Terminal("C90", "b", "B+2"), Terminal("C90", "minus", "ground"))
    d.add("C90", "can", Can((22e-6, 22e-6), 0.2, 450.0, body), sections)
    d.placements["C90"] = Placement((width - 60.0, 165.0))


def _mains(d: Drawing, width: float, *, old_style: bool) -> None:
    d.begin("mains", "mains")
    d.add(
        "P1",
        "inlet",
        Inlet(False),
        (Terminal("P1", "line", "line"), Terminal("P1", "neutral", "neutral"), Terminal("P1", "earth", "earth")),
    )
    d.add("F1", "fuse", Fuse(1.0, "slow", 250.0, 0.1), (Terminal("F1", "1", "line"), Terminal("F1", "2", "fused")))
    d.add(
        "S1",
        "switch",
        Switch(1, ("off", "on"), "on", "power", 250.0, 3.0),
        (Terminal("S1", "1.common", "fused"), Terminal("S1", "1.1", ""), Terminal("S1", "1.2", "switched")),
    )
    hv = Winding("hv", ("hv.1", "hv.ct", "hv.2"), (275.0, 275.0), (80.0, 80.0), 0.1, ("red", "red/yellow", "red"))
    heater = Winding("heater", ("heater.1", "heater.2"), (6.3,), (0.1,), 3.0, ("green", "green"))
    primary = Winding("primary", ("primary.1", "primary.2"), (120.0,), (5.0,), None, ("black", "black"))
    windings, more = (primary, hv, heater), []
    if old_style:
        windings = (*windings, Winding("five", ("five.1", "five.2"), (5.0,), (0.1,), 2.0, ("yellow", "yellow")))
        more = [Terminal("T1", "five.1", "filament"), Terminal("T1", "five.2", "B+1")]
        limiter = (Terminal("RT1", "1", "switched"), Terminal("RT1", "2", "limited"))
        d.add("RT1", "thermistor", Thermistor(10.0, 0.5, 2.0), limiter)
    d.add("T1", "power transformer", Transformer("power", windings, 10.0, 0.01),
          (Terminal("T1", "primary.1", "limited" if old_style else "switched"), Terminal("T1", "primary.2", "neutral"),
           Terminal("T1", "hv.1", "hv1"), Terminal("T1", "hv.ct", "ground"), Terminal("T1", "hv.2", "hv2"),
           Terminal("T1", "heater.1", "heater1"), Terminal("T1", "heater.2", "heater2"), *more))  # fmt: skip
    d.add("W1", "bond", Bond("ground to the metal"), (Terminal("W1", "1", "ground"), Terminal("W1", "2", "chassis")))
    d.add("W2", "bond", Bond("protective earth"), (Terminal("W2", "1", "earth"), Terminal("W2", "2", "chassis")))
    d.placements |= {
        "P1": Placement((width - 40.0, 30.0), panel="rear"),
        "F1": Placement((width - 90.0, 30.0), panel="rear"),
        "S1": Placement((width - 40.0, 30.0), panel="front"),
        "T1": Placement((width - 45.0, 75.0), 0.0),
    }


def _strips(tubes: int, lugs: int) -> list[Strip]:
    found = []
    for n in range(tubes + 2):
        x = 12.0 + PITCH_MM * n
        count = min(lugs, 7)
        found.append(Strip(f"A{n + 1}", count, (3,), (x, 80.0), 0.0, "strip 9.5"))
        found.append(Strip(f"B{n + 1}", count, (3,), (x, 118.0), 0.0, "strip 9.5"))
    return found
