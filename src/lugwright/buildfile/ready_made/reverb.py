"""Ready-made reverb: the driver into its transformer, and the recovery stage."""

from __future__ import annotations

from lugwright.buildfile.ready_made.maker import Maker


def reverb_driver(m: Maker) -> None:
    """Make a transformer-coupled driver from one or two sections; joints input, supply, send."""
    tube, supply, send = m.joint("tube"), m.joint("supply"), m.joint("send")
    if m.has("second_tube"):
        two = m.joint("second_tube")
        m.joined += [[f"{tube}.{name}", f"{two}.{name}"] for name in ("plate", "grid", "cathode")]
    m.part("input_capacitor", "C", [m.joint("input"), f"{tube}.grid"], "1n", volts=630)
    m.part("grid_leak", "R", [f"{tube}.grid", "ground"], "470k")
    m.part("cathode_resistor", "R", [f"{tube}.cathode", "ground"], "1k", watts=1)
    m.part("cathode_capacitor", "C", [f"{tube}.cathode", "ground"], "22u", volts=50)
    windings = {
        "primary": {"turns": [52.0], "ohms": [900.0], "ends": [supply, f"{tube}.plate"]},
        "springs": {"turns": [1.0], "ohms": [0.8], "ends": ["ground", send]},
    }
    m.used.add("transformer")
    written = m.table.get("transformer", {})
    m.add(
        f"T{m.numbers + 1}",
        written if isinstance(written, dict) else {},
        ("transformer",),
        kind="reverb transformer",
        windings=windings,
        magnetizing=25.0,
        leakage=0.2,
    )


def reverb_recovery(m: Maker) -> None:
    """Make the stage behind the springs; joints input (from the tank), output, supply."""
    tube, source = m.joint("tube"), m.joint("input")
    m.part("grid_leak", "R", [source, "ground"], "220k")
    m.part("grid_stopper", "R", [source, f"{tube}.grid"], "10k")
    m.part("plate_resistor", "R", [m.joint("supply"), f"{tube}.plate"], "100k", watts=1)
    m.part("cathode_resistor", "R", [f"{tube}.cathode", "ground"], "1k5")
    m.part("cathode_capacitor", "C", [f"{tube}.cathode", "ground"], "22u", volts=25)
    m.part("coupling_capacitor", "C", [f"{tube}.plate", m.joint("output")], "4n7", volts=630)
