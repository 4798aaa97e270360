"""Ready-made amplifying stages: common cathode, cathode follower, long-tailed pair, split-load inverter."""

from __future__ import annotations

from lugwright.buildfile.ready_made.maker import Maker


def common_cathode(m: Maker) -> None:
    """Make a resistance-coupled stage; joints input, output, supply."""
    tube, supply, output = m.joint("tube"), m.joint("supply"), m.joint("output")
    source = m.joint("input")
    grid = f"{tube}.grid" if m.has("grid_stopper") else source
    m.part("grid_leak", "R", [source, "ground"], "1M")
    if m.has("grid_stopper"):
        m.part("grid_stopper", "R", [source, grid])
    else:
        m.joined.append([source, f"{tube}.grid"])
    m.part("plate_resistor", "R", [supply, f"{tube}.plate"], "100k", watts=1)
    m.part("cathode_resistor", "R", [f"{tube}.cathode", "ground"], "1k5")
    m.part("cathode_capacitor", "C", [f"{tube}.cathode", "ground"], "22u", volts=25)
    if m.table.get("coupling_capacitor") is False:
        m.used.add("coupling_capacitor")
        m.joined.append([output, f"{tube}.plate"])
    else:
        m.part("coupling_capacitor", "C", [f"{tube}.plate", output], "22n", volts=630)


def cathode_follower(m: Maker) -> None:
    """Make a follower straight from a plate; joints input, output (the cathode), supply."""
    tube = m.joint("tube")
    m.joined += [[m.joint("input"), f"{tube}.grid"], [m.joint("supply"), f"{tube}.plate"]]
    m.joined.append([m.joint("output"), f"{tube}.cathode"])
    m.part("cathode_resistor", "R", [f"{tube}.cathode", "ground"], "100k", watts=1)


def long_tailed_pair(m: Maker) -> None:
    """Make a phase inverter; joints input, output_a, output_b, supply and, with feedback, tail_foot."""
    one, two = m.joint("tube"), m.joint("second_tube")
    supply, tail = m.joint("supply"), m.joint("tail", f"{m.stage} tail")
    foot = m.joint("tail_foot", "ground")
    m.joined.append([f"{one}.cathode", f"{two}.cathode"])
    m.part("input_capacitor", "C", [m.joint("input"), f"{one}.grid"], "22n", volts=630)
    m.part("grid_leak", "R", [f"{one}.grid", tail], "1M")
    m.part("second_grid_leak", "R", [f"{two}.grid", tail], "1M")
    m.part("second_grid_capacitor", "C", [f"{two}.grid", foot], "100n", volts=400)
    m.part("cathode_resistor", "R", [f"{one}.cathode", tail], "470")
    m.part("tail_resistor", "R", [tail, foot], "10k", watts=1)
    m.part("plate_resistor", "R", [supply, f"{one}.plate"], "82k", watts=1)
    m.part("second_plate_resistor", "R", [supply, f"{two}.plate"], "100k", watts=1)
    m.part("coupling_capacitor", "C", [f"{one}.plate", m.joint("output_a")], "100n", volts=630)
    m.part("second_coupling_capacitor", "C", [f"{two}.plate", m.joint("output_b")], "100n", volts=630)


def split_load_inverter(m: Maker) -> None:
    """Make an inverter with equal plate and cathode loads; joints input, output_a, output_b, supply."""
    tube, foot = m.joint("tube"), m.joint("foot", f"{m.stage} foot")
    m.part("input_capacitor", "C", [m.joint("input"), f"{tube}.grid"], "22n", volts=630)
    m.part("grid_leak", "R", [f"{tube}.grid", foot], "1M")
    m.part("plate_resistor", "R", [m.joint("supply"), f"{tube}.plate"], "56k", watts=1)
    m.part("cathode_resistor", "R", [f"{tube}.cathode", foot], "1k5")
    m.part("foot_resistor", "R", [foot, "ground"], "56k", watts=1)
    m.part("coupling_capacitor", "C", [f"{tube}.plate", m.joint("output_a")], "100n", volts=630)
    m.part("second_coupling_capacitor", "C", [foot, m.joint("output_b")], "100n", volts=630)


def three_knob_tone_stack(m: Maker) -> None:
    """Make a treble, bass and middle control; joints input, output (the treble wiper)."""
    source, output = m.joint("input"), m.joint("output")
    slope, top, low, middle = (f"{m.stage} {name}" for name in ("slope", "treble top", "treble foot", "middle top"))
    m.part("treble_capacitor", "C", [source, top], "250p", volts=500)
    m.part("slope_resistor", "R", [source, slope], "56k")
    m.part("bass_capacitor", "C", [slope, low], "22n", volts=630)
    m.part("middle_capacitor", "C", [slope, middle], "22n", volts=630)
    pot = {"kind": "pot"}
    m.part("treble", "R", [low, output, top], "250k", taper="linear", label="Treble", **pot)
    m.part("bass", "R", [middle, low, low], "1M", taper="audio", label="Bass", **pot)
    m.part("middle", "R", ["ground", middle, middle], "25k", taper="linear", label="Middle", **pot)
