"""The circuit of an amplifier drawn with a seed: channels, reverb, inverter, output stage, supply, mains."""

from __future__ import annotations

import random

from .sheet import Sheet
from .supplies import mains_and_heaters, supply

DOUBLE_TRIODES = ("12AX7", "12AX7", "12AX7", "12AT7", "12AU7", "12AY7", "6SL7GT", "6SN7GT")
SMALL_OUTPUT, LARGE_OUTPUT = ("EL84", "6V6GT", "6AQ5"), ("6L6GC", "EL34", "5881", "KT66", "6550", "KT88")
CATHODE_OHM = {"EL84": 240, "6V6GT": 390, "6AQ5": 390}
STAGES_IN_A_CHANNEL = 4


def draw_circuit(seed: int, tubes: int) -> Sheet:
    """Return an amplifier with so many tubes, its extra parts still in hand."""
    rng = random.Random(seed)
    sheet = Sheet(rng, f"Phalarope {seed}", rng.choice((120, 230)), bare=tubes == 1 and rng.random() < 0.4)
    rectifier = rng.choice(("EZ81", "GZ34", "5Y3GT")) if tubes >= 4 and rng.random() < 0.3 else ""
    left = tubes - bool(rectifier)
    outputs = 0 if sheet.bare else _output_tubes(rng, left)
    inverter = outputs >= 2
    preamp = left - outputs - inverter
    nodes = 2 + min(4, (preamp + 2) // 2) if outputs else 2
    signal = _channels(sheet, preamp, nodes) if preamp else _jack(sheet, "in")
    bias = False
    if inverter:
        signal_a, signal_b = _inverter(sheet, signal)
        bias = _push_pull(sheet, signal_a, signal_b, outputs)
    elif outputs:
        _single_ended(sheet, signal)
    else:
        _line_out(sheet, signal)
    if rectifier:
        sheet.tubes[f"V{len(sheet.tubes) + 1}"] = rectifier
    supply(sheet, nodes, rectifier, outputs=outputs, bias=bias)
    mains_and_heaters(sheet, rectifier, outputs=outputs, bias=bias)
    return sheet


def _output_tubes(rng: random.Random, left: int) -> int:
    if left == 1:
        return rng.randint(0, 1)
    if left <= 3:
        return 1
    if left >= 8 and rng.random() < 0.3:
        return 4
    return 2 if rng.random() < 0.75 else 1


def _jack(sheet: Sheet, name: str) -> str:
    stage = sheet.stage(f"jack_{name.replace(' ', '_')}", "input")
    stage.part("J", f'label = "Input", isolated = true, switched = true, tip = "{name}", '
                    'sleeve = "ground", tip_switch = "ground"')  # fmt: skip
    sheet.may_have(stage, ("C", f'value = "47p", volts = 500, ends = ["{name}", "ground"]'))
    return name


def _channels(sheet: Sheet, preamp: int, nodes: int) -> str:
    """Draw channels of a few stages each, mixed into one joint; return where the signal comes out."""
    sections = []
    for _ in range(preamp):
        if sheet.bare or sheet.random.random() < 0.12:
            sections.append((sheet.tube("EF86"), "EF86"))
        else:
            kind = sheet.random.choice(DOUBLE_TRIODES)
            name = sheet.tube(kind)
            sections += [(f"{name}a", kind), (f"{name}b", kind)]
    outputs, first = [], 0
    while first < len(sections):
        count = min(sheet.random.randint(2, STAGES_IN_A_CHANNEL), len(sections) - first)
        share = (first + count) / len(sections)
        node = nodes - round(share * (nodes - 2) * 0.5) if nodes > 2 else nodes
        outputs.append(_channel(sheet, sections[first : first + count], f"B+{max(2, node)}", len(outputs) + 1))
        first += count
    if len(outputs) == 1:
        return outputs[0]
    mixed = sheet.joint("mix")
    stage = sheet.stage("mixing", "gain")
    for joint in outputs:
        stage.resistor(sheet.random.choice(("220k", "330k", "470k")), joint, mixed)
    return mixed


def _channel(sheet: Sheet, sections: list[tuple[str, str]], node: str, number: int) -> str:
    signal = _jack(sheet, f"in {number}")
    follower = False
    for count, (tube, kind) in enumerate(sections):
        key = f"stage_{number}_{count + 1}"
        triode = kind != "EF86"
        if triode and count and not follower and sheet.random.random() < 0.2:
            output = sheet.joint("low")
            sheet.stage(key, "gain", use='"cathode follower"', tube=f'"{tube}"', input=f'"{signal}"',
                        output=f'"{output}"', supply=f'"{node}"')  # fmt: skip
            coupled = sheet.joint("out")
            sheet.stages[-1].capacitor("100n", 400, output, coupled)
            sheet.stages[-1].resistor("1M", signal, "ground")
            signal, follower = _between(sheet, coupled, key), True
            continue
        signal = _gain_stage(sheet, key, tube, signal, node, triode=triode)
        follower = False
        signal = _between(sheet, signal, key)
    return signal


def _gain_stage(sheet: Sheet, key: str, tube: str, signal: str, node: str, *, triode: bool) -> str:
    rng, output = sheet.random, sheet.joint("out")
    plate = rng.choice(("100k", "150k", "220k") if triode else ("220k",))
    lean = {"cathode_capacitor": "false"} if sheet.bare or rng.random() < 0.25 else {}
    stage = sheet.stage(key, "gain", use='"common cathode"', tube=f'"{tube}"', input=f'"{signal}"',
                        output=f'"{output}"', supply=f'"{node}"', plate_resistor=f'"{plate}"', **lean,
                        grid_stopper="false" if sheet.bare else rng.choice(('"10k"', '"33k"', '"68k"', "false")),
                        cathode_resistor=rng.choice(('"1k5"', '"1k8"', '"2k7"')),
                        coupling_capacitor=rng.choice(('"4n7"', '"10n"', '"22n"', '"47n"')))  # fmt: skip
    if not triode:
        stage.lines.append(f'joined = [["{tube}.suppressor", "{tube}.cathode"], ["{tube}.shield", "ground"]]')
        stage.resistor("1M", node, f"{tube}.screen", 1)
        stage.capacitor("100n", 400, f"{tube}.screen", "ground")
    foot = sheet.joint("foot")
    sheet.may_have(stage, ("C", f'value = "220p", volts = 1000, ends = ["{tube}.plate", "{node}"]'))
    sheet.may_have(stage, ("R", f'value = "2M2", ends = ["{signal}", "ground"]'))
    sheet.may_have(
        stage,
        ("C", f'value = "1u", volts = 63, style = "electrolytic", ends = ["{tube}.cathode", "{foot}"]'),
        ("R", f'value = "1k", ends = ["{foot}", "ground"]'),
    )
    sheet.may_have(stage, ("C", f'value = "47p", volts = 500, ends = ["{tube}.grid", "{tube}.cathode"]'))
    return output


def _between(sheet: Sheet, signal: str, key: str) -> str:
    """Draw what stands between two stages: nothing, a control, a divider, a treble peaker, a tone stack."""
    kind, output = sheet.random.choice(("wire", "volume", "volume", "divider", "peaker", "stack")), sheet.joint("to")
    if kind == "wire" or sheet.bare:
        return signal
    stage = sheet.stage(f"{key}_{kind}", "tone")
    if kind == "volume":
        stage.pot("1M", "Volume", "ground", output, signal)
        sheet.may_have(stage, ("C", f'value = "120p", volts = 500, ends = ["{signal}", "{output}"]'))
    elif kind == "divider":
        stage.resistor("470k", signal, output)
        stage.resistor("470k", output, "ground")
        sheet.may_have(stage, ("C", f'value = "470p", volts = 500, ends = ["{signal}", "{output}"]'))
    elif kind == "peaker":
        stage.resistor("470k", signal, output)
        stage.capacitor("1n", 500, signal, output)
        stage.pot("1M", "Drive", "ground", output, output)
    else:
        stage.lines += [f"numbers = {stage.base}", 'use = "three-knob tone stack"', f'input = "{signal}"',
                        f'output = "{output}"']  # fmt: skip
    return output


def _inverter(sheet: Sheet, signal: str) -> tuple[str, str]:
    a, b = sheet.joint("drive a"), sheet.joint("drive b")
    tube = sheet.tube(sheet.random.choice(("12AX7", "12AT7", "12AU7", "6SN7GT")))
    keys = {"tube": f'"{tube}b"', "input": f'"{signal}"', "output_a": f'"{a}"', "output_b": f'"{b}"',
            "supply": '"B+2"'}  # fmt: skip
    if sheet.random.random() < 0.6:
        keys |= {"tube": f'"{tube}a"', "second_tube": f'"{tube}b"'}
        stage = sheet.stage("inverter", "inverter", use='"long-tailed pair"', **keys)
        sheet.may_have(stage, ("C", f'value = "47p", volts = 500, ends = ["{tube}a.plate", "{tube}b.plate"]'))
        return a, b
    driven = sheet.joint("driven")
    sheet.stage("driver", "gain", use='"common cathode"', tube=f'"{tube}a"', input=f'"{signal}"',
                output=f'"{driven}"', supply='"B+2"', grid_stopper='"22k"', coupling_capacitor="false")  # fmt: skip
    keys["input"] = f'"{driven}"'
    sheet.stage("inverter", "inverter", use='"split-load inverter"', **keys)
    return a, b


def _push_pull(sheet: Sheet, a: str, b: str, outputs: int) -> bool:
    """Draw two or four output tubes; return whether they have fixed bias."""
    rng = sheet.random
    kind = rng.choice(SMALL_OUTPUT if rng.random() < 0.5 else LARGE_OUTPUT)
    bias = kind in LARGE_OUTPUT or rng.random() < 0.3
    tubes = [sheet.tube(kind) for _ in range(outputs)]
    for count in range(0, outputs, 2):
        keys = {"input_a": f'"{a}"', "input_b": f'"{b}"', "screen_supply": '"B+2"'}
        keys |= {"bias": '"bias"'} if bias else {"cathode_resistor": '{ value = "150", watts = 5 }'}
        stage = sheet.stage(f"output_{count // 2 + 1}", "output", use='"push-pull output"', tube=f'"{tubes[count]}"',
                            second_tube=f'"{tubes[count + 1]}"', **keys)  # fmt: skip
        joined = []
        if kind == "EL34":
            joined += [f'["{tube}.suppressor", "{tube}.cathode"]' for tube in tubes[count : count + 2]]
        if count:
            joined += [f'["{tubes[k]}.plate", "{tubes[k + count]}.plate"]' for k in (0, 1)]
        if joined:
            stage.lines.append(f"joined = [{', '.join(joined)}]")
        for side, tube in zip("ab", tubes[count : count + 2], strict=True):
            catch = f"catch {side} {count}"
            sheet.may_have(stage, ("CR", f'volts = 1000, amps = 1, ends = ["{catch}", "{tube}.plate"]'),
                           ("CR", f'volts = 1000, amps = 1, ends = ["ground", "{catch}"]'))  # fmt: skip
    _speaker(sheet, f'["{tubes[0]}.plate", "B+1", "{tubes[1]}.plate"]', "[70, 70]", magnetizing=50)
    return bias


def _single_ended(sheet: Sheet, signal: str) -> None:
    tube = sheet.tube(kind := sheet.random.choice(SMALL_OUTPUT))
    stage = sheet.stage("output", "output", use='"single-ended output"', tube=f'"{tube}"', input=f'"{signal}"',
                        screen_supply='"B+2"',
                        cathode_resistor=f'{{ value = "{CATHODE_OHM[kind]}", watts = 3 }}')  # fmt: skip
    sheet.may_have(stage, ("R", f'value = "1M", ends = ["{signal}", "ground"]'))
    _speaker(sheet, f'["B+1", "{tube}.plate"]', "[280]", magnetizing=12)


def _speaker(sheet: Sheet, ends: str, ohms: str, *, magnetizing: int) -> None:
    stage = sheet.stage("speaker", "output")
    stage.part("J", 'label = "Speaker", isolated = true, tip = "speaker", sleeve = "ground"')
    stage.lines.append('LS1 = { ohm = 8, watts = 60, ends = ["speaker", "ground"] }')
    impedance = "6600" if "B+1" in ends.split(",")[1] else "5000"
    stage.tables.append(
        f'[stage.speaker.T2]\nkind = "output transformer"\nmagnetizing = {magnetizing}\nleakage = 0.03\n'
        f"windings.primary = {{ impedance = {impedance}, ohms = {ohms}, ends = {ends} }}\n"
        'windings.speaker = { impedance = 8, ohms = 0.4, ends = ["ground", "speaker"] }'
    )
    line = sheet.joint("line")
    sheet.may_have(
        stage,
        ("R", f'value = "4k7", ends = ["speaker", "{line}"]'),
        ("R", f'value = "1k", ends = ["{line}", "ground"]'),
        ("J", f'label = "Line out", isolated = true, tip = "{line}", sleeve = "ground"'),
    )
    sheet.may_have(stage, ("R", 'value = "220", watts = 5, style = "wirewound", ends = ["speaker", "ground"]'))


def _line_out(sheet: Sheet, signal: str) -> None:
    stage = sheet.stage("line", "output")
    stage.part("J", f'label = "Line out", isolated = true, tip = "{signal}", sleeve = "ground"')
    sheet.may_have(stage, ("R", f'value = "220k", ends = ["{signal}", "ground"]'))
    sheet.may_have(stage, ("C", f'value = "100p", volts = 500, ends = ["{signal}", "ground"]'))
