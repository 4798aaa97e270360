"""B+ with its nodes, bias, heaters and mains of a drawn amplifier."""

from __future__ import annotations

from lugwright.catalogue.load import tube_type

from .sheet import Sheet

FIVE_VOLT = ("GZ34", "5Y3GT")


def supply(sheet: Sheet, nodes: int, rectifier: str, *, outputs: int, bias: bool) -> None:
    """Draw the rectifier and so many nodes; the first two in one can, or each with its own capacitor."""
    rng = sheet.random
    kind = "tube" if rectifier else rng.choice(("silicon", "silicon", "bridge"))
    ac = '["T1.hv.1", "T1.hv.2"]' if kind == "bridge" else '["T1.hv.1", "T1.hv.3"]'
    can = outputs > 0 and rng.random() < 0.6
    rows = []
    for n in range(1, nodes + 1):
        keys = [f'joint = "B+{n}"']
        if n == 2 and outputs >= 2 and rng.random() < 0.5:
            keys.append('choke = { value = "5H", ohm = 150, amps = 0.15 }')
        elif n > 1:
            ohms = ("470", 5) if n == 2 and outputs else (rng.choice(("4k7", "10k", "15k")), 2)
            keys.append(f'resistor = {{ value = "{ohms[0]}", watts = {ohms[1]} }}')
        if not (can and n <= 2):
            keys.append(f'capacitor = {{ value = "{"47u" if n < 3 else "22u"}", volts = 450 }}')
        if n == 1 and not sheet.bare:
            keys.append('bleeder = "220k"')
        rows.append(f"  {{ {', '.join(keys)} }},")
    extra = {"tube": f'"V{len(sheet.tubes)}"'} if rectifier else {}
    stage = sheet.stage("supply", "supply", use='"supply"', rectifier=f'"{kind}"', ac=ac,
                        nodes="[\n" + "\n".join(rows) + "\n]", **extra)  # fmt: skip
    if can:
        stage.part("C", 'kind = "can", values = ["47u", "47u"], volts = 450, ends = ["B+1", "B+2", "ground"]')
    if rectifier in FIVE_VOLT:
        tube = f"V{len(sheet.tubes)}"
        stage.lines.append(f'joined = [["{tube}.cathode", "{tube}.heater2"]]')
    for n in range(2, nodes + 1):
        sheet.may_have(stage, ("C", f'value = "100n", volts = 630, ends = ["B+{n}", "ground"]'))
        sheet.may_have(stage, ("R", f'value = "470k", watts = 1, ends = ["B+{n}", "ground"]'))
    if bias:
        sheet.stage("bias", "bias", use='"bias supply"', ac='"T1.bias.1"', output='"bias"')


def mains_and_heaters(sheet: Sheet, rectifier: str, *, outputs: int, bias: bool) -> None:
    """Draw the heater chain, inlet to switch, both bonds and the power transformer."""
    rng = sheet.random
    warm = [name for name, kind in sheet.tubes.items() if kind not in FIVE_VOLT]
    tapped = sheet.bare or rng.random() < 0.5
    reference = "center tap" if tapped else "resistors"
    names = ", ".join(f'"{name}"' for name in warm)
    heaters = sheet.stage("heaters", "heater", use='"heater supply"', tubes=f"[{names}]", reference=f'"{reference}"')
    sheet.may_have(heaters, ("DS", 'volts = 6.3, amps = 0.15, ends = ["heater 1", "heater 2"]'))
    stage = sheet.stage("mains", "mains", use='"mains"', line='"T1.primary.1"', neutral='"T1.primary.2"', fuse="1.6")
    stage.part("W", 'purpose = "circuit ground to the metal, once", ends = ["ground", "chassis"]')
    hv = 150 if not outputs else 250 if outputs == 1 else 290
    amps = sum(tube_type(sheet.tubes[name]).heater.amps for name in warm) + 0.5
    rows = [f'windings.primary = {{ volts = {sheet.mains_v}, ends = ["T1.primary.1", "T1.primary.2"] }}']
    bridge = any('rectifier = "bridge"' in line for s in sheet.stages for line in s.lines)
    if bridge:
        rows.append(f'windings.hv = {{ rated_volts = {hv * 0.85:.0f}, amps = 0.3, ends = ["T1.hv.1", "T1.hv.2"] }}')
    else:
        plates = f"V{len(sheet.tubes)}.plate" if rectifier else ""
        one, two = (f"{plates}1", f"{plates}2") if plates else ("T1.hv.1", "T1.hv.3")
        rows.append(f'windings.hv = {{ rated_volts = [{hv}, {hv}], amps = 0.3, ends = ["{one}", "ground", "{two}"] }}')
    if bias:
        rows.append('windings.bias = { rated_volts = 50, amps = 0.02, ends = ["T1.bias.1", "ground"] }')
    heat = "[3.15, 3.15]" if tapped else "6.3"
    ends = '["heater 1", "ground", "heater 2"]' if tapped else '["heater 1", "heater 2"]'
    rows.append(f"windings.heater = {{ rated_volts = {heat}, amps = {amps:.1f}, ends = {ends} }}")
    if rectifier in FIVE_VOLT:
        tube = f"V{len(sheet.tubes)}"
        rows.append(f'windings.five = {{ rated_volts = 5, amps = 2.5, ends = ["{tube}.heater1", "{tube}.heater2"] }}')
    stage.tables.append('[stage.mains.T1]\nkind = "power transformer"\nregulation = 0.1\n' + "\n".join(rows))
