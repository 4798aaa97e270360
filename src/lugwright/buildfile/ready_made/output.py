"""Ready-made output stages, single-ended and push-pull, cathode and fixed bias."""

from __future__ import annotations

from lugwright.buildfile.ready_made.maker import Maker


def single_ended_output(m: Maker) -> None:
    """Make a cathode-biased single tube; joints input, supply, screen_supply; the transformer is a part of its own."""
    tube = m.joint("tube")
    _driven(m, tube, m.joint("input"), "ground", "")
    _screen(m, tube, m.joint("screen_supply"), "")
    m.part("cathode_resistor", "R", [f"{tube}.cathode", "ground"], "330", watts=3)
    m.part("cathode_capacitor", "C", [f"{tube}.cathode", "ground"], "47u", volts=50)
    if m.has("plate"):
        m.joined.append([m.joint("plate"), f"{tube}.plate"])


def push_pull_output(m: Maker) -> None:
    """Make two output tubes; joints input_a, input_b, screen_supply; ``bias`` = a bias joint, or cathode bias."""
    one, two = m.joint("tube"), m.joint("second_tube")
    fixed = m.has("bias")
    bias = m.joint("bias") if fixed else "ground"
    for tube, side, prefix in ((one, "input_a", ""), (two, "input_b", "second_")):
        _driven(m, tube, m.joint(side), bias, prefix)
        _screen(m, tube, m.joint("screen_supply"), prefix)
        if fixed:
            m.part(f"{prefix}cathode_resistor", "R", [f"{tube}.cathode", "ground"], "1", watts=1, tolerance=1)
    if not fixed:
        m.joined.append([f"{one}.cathode", f"{two}.cathode"])
        m.part("cathode_resistor", "R", [f"{one}.cathode", "ground"], "130", watts=5)
        m.part("cathode_capacitor", "C", [f"{one}.cathode", "ground"], "47u", volts=50)


def _driven(m: Maker, tube: str, source: str, bias: str, prefix: str) -> None:
    m.part(f"{prefix}grid_leak", "R", [source, bias], "220k")
    m.part(f"{prefix}grid_stopper", "R", [source, f"{tube}.grid"], "1k5")


def _screen(m: Maker, tube: str, supply: str, prefix: str) -> None:
    m.part(f"{prefix}screen_resistor", "R", [supply, f"{tube}.screen"], "470", watts=1)
