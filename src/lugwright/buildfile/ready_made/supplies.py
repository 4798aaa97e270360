"""Ready-made supplies: mains, B+ with its nodes, bias, heaters."""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from lugwright.buildfile.ready_made.maker import Maker, ReadyMadeError

NODE_KEYS = ("joint", "capacitor", "volts", "resistor", "choke", "bleeder")


def supply(m: Maker) -> None:
    """Make a rectifier and its filter.

    ``rectifier`` is "silicon", "bridge" or "tube"; ``nodes`` is a list of tables
    { joint, capacitor, volts } and, from the second on, resistor or choke; with choke input the first has one too.
    """
    nodes = m.tables("nodes")
    first = str(nodes[0].get("joint", "B+1")) if nodes else "B+1"
    raw = f"{m.stage} rectified" if nodes and {"choke", "resistor"} & nodes[0].keys() else first
    _rectify(m, raw)
    before = raw
    for count, node in enumerate(nodes):
        _refuse_keys(m, node, count)
        joint = node.get("joint")
        if not isinstance(joint, str):
            m.missing.append(ReadyMadeError("nodes", found=f"node {count + 1} without joint", wanted='joint = "B+1"'))
            continue
        path = ("nodes", count)
        if count and joint == before:
            m.missing.append(
                ReadyMadeError(
                    "nodes",
                    found=f"node {count + 1} on {joint}, as the node before it",
                    wanted="a joint of its own for each node",
                    do="give it the next name, such as B+2 after B+1",
                )
            )
        if joint != before:
            if "choke" in node:
                m.add(f"L{m.numbers + count + 1}", _table(node["choke"]), path, ends=[before, joint])
            elif "resistor" in node:
                m.add(f"R{m.numbers + count + 1}", {"watts": 2, **_table(node["resistor"])}, path, ends=[before, joint])
            else:
                m.missing.append(
                    ReadyMadeError("nodes", found=f"nothing leads to {joint}", wanted="resistor = ... or choke = {...}")
                )
        if "capacitor" in node:
            volts = node.get("volts", 450)
            m.add(
                f"C{m.numbers + count + 1}", {"volts": volts, **_table(node["capacitor"])}, path, ends=[joint, "ground"]
            )
        if "bleeder" in node:
            m.add(f"R{m.numbers + 50 + count}", {"watts": 2, **_table(node["bleeder"])}, path, ends=[joint, "ground"])
        before = joint


def _refuse_keys(m: Maker, node: Mapping[str, object], count: int) -> None:
    """Refuse a key no node has, and two parts in series where only one would be made: nothing may vanish."""
    unknown = sorted(node.keys() - set(NODE_KEYS))
    if unknown:
        close = difflib.get_close_matches(unknown[0], NODE_KEYS, n=1)
        m.missing.append(
            ReadyMadeError(
                "nodes",
                found=f"{', '.join(unknown)} in node {count + 1}",
                wanted=f"one of {', '.join(NODE_KEYS)}",
                do=f"write {close[0]}" if close else "take it out",
            )
        )
    if {"choke", "resistor"} <= node.keys():
        m.missing.append(
            ReadyMadeError(
                "nodes",
                found=f"a choke and a resistor in node {count + 1}",
                wanted="one of them: each node is fed through one part",
                do="take one out, or give the other a node of its own",
            )
        )


def _table(value: object) -> dict[str, object]:
    return dict(value) if isinstance(value, dict) else {"value": value}


def _rectify(m: Maker, output: str) -> None:
    kind = m.word("rectifier", ("silicon", "bridge", "tube"))
    ac = m.names("ac")
    m.used |= {"tube", "diode_volts"}
    if len(ac) != 2:
        m.missing.append(ReadyMadeError("ac", found=f"{len(ac)} joints", wanted="the two ends of the B+ winding"))
        return
    diode = {"volts": m.table.get("diode_volts", 1000), "amps": 1}
    if kind == "tube":
        tube = m.joint("tube")
        m.joined += [[ac[0], f"{tube}.plate1"], [ac[1], f"{tube}.plate2"], [output, f"{tube}.cathode"]]
        return
    for count, joint in enumerate(ac, start=1):
        m.add(f"CR{m.numbers + count}", diode, ("rectifier",), ends=[joint, output])
    if kind == "bridge":
        for count, joint in enumerate(ac, start=3):
            m.add(f"CR{m.numbers + count}", diode, ("rectifier",), ends=["ground", joint])


def bias_supply(m: Maker) -> None:
    """Make a half-wave negative supply with its control; joints ac, output."""
    output, raw = m.joint("output"), m.joint("raw", f"{m.stage} raw")
    m.add(f"CR{m.numbers + 1}", {"volts": 1000, "amps": 1}, ("use",), ends=[raw, m.joint("ac")])
    m.part("reservoir", "C", ["ground", raw], "47u", volts=100)
    m.part("series_resistor", "R", [raw, output], "15k", watts=1)
    m.part("filter_capacitor", "C", ["ground", output], "47u", volts=100)
    low = f"{m.stage} low"
    m.part("range_resistor", "R", [output, low], "15k")
    m.part("control", "R", ["ground", "ground", low], "25k", kind="pot", taper="linear", label="Bias")


def heater_supply(m: Maker) -> None:
    """Join the heaters of some tubes to two joints and give them a reference to ground.

    ``reference``: "center tap" (of the winding), "resistors" (two of 100 ohm), "raised" (a divider from a B+ joint).
    """
    one, two = m.joint("side_1", "heater 1"), m.joint("side_2", "heater 2")
    for tube in m.names("tubes"):
        m.heaters.append((one, two, tube))
    kind = m.word("reference", ("center tap", "resistors", "raised"))
    level = "ground" if kind == "resistors" else m.joint("level", f"{m.stage} level") if kind == "raised" else ""
    if level:
        m.part("resistor_1", "R", [one, level], "100")
        m.part("resistor_2", "R", [two, level], "100")
    if kind == "raised":
        m.part("divider_top", "R", [m.joint("from"), level], "220k", watts=1)
        m.part("divider_foot", "R", [level, "ground"], "22k")
        m.part("level_capacitor", "C", [level, "ground"], "22u", volts=100)


def mains(m: Maker) -> None:
    """Make inlet, fuse, two-pole switch and the earth bond; joints line, neutral go to the primary."""
    raw_line, raw_neutral, fused = (f"{m.stage} {n}" for n in ("line", "neutral", "fused"))
    m.add(f"P{m.numbers + 1}", {}, ("use",), line=raw_line, neutral=raw_neutral, earth="earth")
    fuse = m.table.get("fuse", {"amps": 1.0})
    m.used |= {"fuse", "switch"}
    m.add(f"F{m.numbers + 1}", fuse if isinstance(fuse, dict) else {"amps": fuse}, ("fuse",), ends=[raw_line, fused])
    poles = [[fused, "", m.joint("line")], [raw_neutral, "", m.joint("neutral")]]
    switch = m.table.get("switch", {})
    m.add(
        f"S{m.numbers + 1}",
        switch if isinstance(switch, dict) else {},
        ("switch",),
        label="Mains",
        positions=["off", "on"],
        poles=poles,
    )
    m.add(
        f"W{m.numbers + 1}",
        {"purpose": "protective earth to the metal, on its own bolt"},
        ("use",),
        ends=["earth", "chassis"],
    )
