"""Ready-made output stages, single-ended and push-pull, cathode and fixed bias."""

from __future__ import annotations

from lugwright.buildfile.ready_made.maker import Maker, ReadyMadeError


def single_ended_output(m: Maker) -> None:
    """Make one output tube; joints input, screen_supply; ``bias`` = a bias joint, or cathode bias.

    The transformer is a part of its own. In cathode bias ``measuring_resistor`` puts a small one above the bias
    resistor.
    """
    tube = m.joint("tube")
    fixed = m.has("bias")
    m.used |= {"bias", "plate"}
    _driven(m, tube, m.joint("input"), m.joint("bias") if fixed else "ground", "")
    _screen(m, tube, m.joint("screen_supply"), "")
    if fixed:
        _read_at_the_cathode(m, "cathode_resistor", [f"{tube}.cathode", "ground"])
        _already_measured(m)
    else:
        foot = f"{m.stage} cathode" if m.has("measuring_resistor") else f"{tube}.cathode"
        _cathode_bias(m, foot, "330", watts=3)
        _measuring(m, tube, foot, "")
    if m.has("plate"):
        m.joined.append([m.joint("plate"), f"{tube}.plate"])


def push_pull_output(m: Maker) -> None:
    """Make two output tubes; joints input_a, input_b, screen_supply; ``bias`` = a bias joint, or cathode bias.

    In cathode bias ``measuring_resistor`` puts a small one between each cathode and the bias resistor both share.
    """
    one, two = m.joint("tube"), m.joint("second_tube")
    fixed = m.has("bias")
    m.used.add("bias")
    bias = m.joint("bias") if fixed else "ground"
    for tube, side, prefix in ((one, "input_a", ""), (two, "input_b", "second_")):
        _driven(m, tube, m.joint(side), bias, prefix)
        _screen(m, tube, m.joint("screen_supply"), prefix)
        if fixed:
            _read_at_the_cathode(m, f"{prefix}cathode_resistor", [f"{tube}.cathode", "ground"])
    if fixed:
        _already_measured(m)
        return
    if m.has("measuring_resistor"):
        foot = f"{m.stage} cathodes"
    else:
        foot = f"{one}.cathode"
        m.joined.append([foot, f"{two}.cathode"])
    _cathode_bias(m, foot, "130", watts=5)
    _measuring(m, one, foot, "")
    _measuring(m, two, foot, "second_")


def _driven(m: Maker, tube: str, source: str, bias: str, prefix: str) -> None:
    m.part(f"{prefix}grid_leak", "R", [source, bias], "220k")
    m.part(f"{prefix}grid_stopper", "R", [source, f"{tube}.grid"], "1k5")


def _screen(m: Maker, tube: str, supply: str, prefix: str) -> None:
    m.part(f"{prefix}screen_resistor", "R", [supply, f"{tube}.screen"], "470", watts=1)


def _cathode_bias(m: Maker, foot: str, value: str, *, watts: float) -> None:
    m.part("cathode_resistor", "R", [foot, "ground"], value, watts=watts)
    m.part("cathode_capacitor", "C", [foot, "ground"], "47u", volts=50)


def _measuring(m: Maker, tube: str, foot: str, prefix: str) -> None:
    """Make the resistor a cathode current is read across; the second tube's is as the first one's unless written."""
    m.used.add("measuring_resistor")
    if not m.has("measuring_resistor"):
        return
    role = f"{prefix}measuring_resistor"
    first = m.table["measuring_resistor"]
    value = first.get("value", "1") if isinstance(first, dict) else first
    if m.table.get(role) is False:
        m.joined.append([foot, f"{tube}.cathode"])
    _read_at_the_cathode(m, role, [f"{tube}.cathode", foot], value)


def _already_measured(m: Maker) -> None:
    """Refuse a measuring resistor in fixed bias: the cathode resistor is one."""
    for role in ("measuring_resistor", "second_measuring_resistor"):
        if m.has(role):
            m.missing.append(
                ReadyMadeError(
                    role,
                    found=f"{role} beside bias",
                    wanted="the cathode resistor alone: in fixed bias the idle is read across it",
                    do="take it out, or write its value as that of the cathode resistor",
                )
            )
        m.used.add(role)


def _read_at_the_cathode(m: Maker, role: str, ends: list[str], value: str = "1") -> None:
    m.part(role, "R", ends, value, watts=1, tolerance=1)
