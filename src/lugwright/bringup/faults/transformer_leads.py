"""Transformers: windings exchanged, open or shorted, a lead of the wrong color on the wrong lug."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.codes import NO_LOAD, OVERLOAD, SCREEN_ALONE, Code
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.feedback import feedback_resistors, has_feedback
from lugwright.bringup.wired import METAL, TOUCH_OHM, Otherwise
from lugwright.buildfile.build import GROUND, Part, Speaker, Transformer, Winding
from lugwright.circuit.edits import OPEN_OHM, ScaleValue, SetValue
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring

LOW_MAINS_V, BETWEEN_V, HIGH_MAINS_V = 120.0, 160.0, 230.0
HIGH_VOLT_V = 150.0  # from here a winding is not taken for one of heater or bias
TOO_HOT_HEATERS = "heaters on the wrong winding burn out in seconds"
HOWLS = "the amplifier howls at full power as the output tubes warm up"
IDENTIFY = "find the windings by their ohms, and by their volts with nothing joined to them"


def transformer_leads(case: FaultCase) -> Iterator[Fault]:
    """Yield windings of power transformers exchanged, open and shorted, and taps taken for ends."""
    for part, values in case.parts(Transformer):
        yield from _open_sections(case, part, values)
        if values.role == "power":
            yield from _windings_exchanged(case, part, values)
            yield from _primary(case, part, values)
            yield from _shorted_half(case, part, values)
            yield from _center_on_metal(case, part, values)
        else:
            yield from _ends_and_taps(case, part, values)


def _joint(part: Part, end: str) -> str:
    return part.terminal(end).joint


def _open_sections(case: FaultCase, part: Part, values: Transformer) -> Iterator[Fault]:
    for winding in values.windings:
        for k in range(len(winding.ends) - 1):
            name = f"{part.name}.{winding.name}.{k + 1}-{k + 2}"
            code = _open_code(values, winding)
            yield case.fault(
                f"open {name}", code.code,
                what=f"the {winding.name} winding of {part.name} is open between its leads {k + 1} and {k + 2}",
                do="measure it with the plug out, lead by lead, before anything else is blamed",
                changes=(SetValue(name, "ohm", OPEN_OHM),), part=part.name, danger=code.danger, odds=0.3,
            )  # fmt: skip


def _open_code(values: Transformer, winding: Winding) -> Code:
    if values.role == "output":
        return Code("F82", SCREEN_ALONE) if winding is values.windings[0] else Code("F84", NO_LOAD)
    if values.role != "power" or winding is values.windings[0]:
        return Code("F99")
    return Code("F20") if sum(winding.turns) > HIGH_VOLT_V else Code("F10")


def _windings_exchanged(case: FaultCase, part: Part, values: Transformer) -> Iterator[Fault]:
    low = [w for w in values.windings[1:] if sum(w.turns) < HIGH_VOLT_V]
    for one, other in combinations(low, 2):
        to: dict[str, str] = {}
        for a, b in ((one.ends[0], other.ends[0]), (one.ends[-1], other.ends[-1])):
            to |= {f"{part.name}.{a}": f"{part.name}.{b}", f"{part.name}.{b}": f"{part.name}.{a}"}
        effect = case.wired.exchanged(to, own=True)
        yield case.fault(
            f"exchanged {part.name} {one.name} {other.name}", "F08",
            what=f"the {one.name} and {other.name} windings of {part.name} are exchanged", do=IDENTIFY, effect=effect,
            part=part.name, terminals=tuple(to), danger=TOO_HOT_HEATERS,
        )  # fmt: skip


def _primary(case: FaultCase, part: Part, values: Transformer) -> Iterator[Fault]:
    """Yield a transformer for other mains, leads of the primary exchanged, and one of two primaries turned round."""
    other = HIGH_MAINS_V if case.build.mains_v < BETWEEN_V else LOW_MAINS_V
    first = values.windings[0]
    coils = [f"{part.name}.{first.name}.{k}-{k + 1}" for k in range(1, len(first.ends))]
    yield case.fault(
        f"other mains {part.name}", "F03",
        what=f"{part.name} is wound for {other:.0f} V, or its primary is joined for it", do=IDENTIFY,
        changes=[ScaleValue(coil, "turns", other / case.build.mains_v) for coil in coils], part=part.name,
        danger=TOO_HOT_HEATERS if other < case.build.mains_v else "",
    )  # fmt: skip
    for one, two in combinations(first.ends, 2) if len(first.ends) > 2 else ():
        yield from _lead_pair(
            case, part, (one, two), "F03", f"primary leads {one} and {two} of {part.name} are exchanged"
        )
    for winding in values.windings[1:]:
        if case.classes.get(_joint(part, winding.ends[0])) == "mains":
            what = f"winding {winding.name} of {part.name} works against the other primary"
            yield from _lead_pair(case, part, (winding.ends[0], winding.ends[-1]), "F04", what)


def _lead_pair(case: FaultCase, part: Part, pair: tuple[str, str], code: str, what: str) -> Iterator[Fault]:
    keys = f"{part.name}.{pair[0]}", f"{part.name}.{pair[1]}"
    effect = case.wired.exchanged({keys[0]: keys[1], keys[1]: keys[0]}, own=True)
    if effect.rewiring.moved:
        yield case.fault(
            f"exchanged {keys[0]} {keys[1]}", code, what=what, do=IDENTIFY, effect=effect, part=part.name,
            terminals=keys, danger=OVERLOAD,
        )  # fmt: skip


def _shorted_half(case: FaultCase, part: Part, values: Transformer) -> Iterator[Fault]:
    """Yield an end of a winding on its own center or other end, and on the metal."""
    for winding in values.windings[1:]:
        ends = [_joint(part, end) for end in winding.ends]
        for other in ends[1:]:
            if other != ends[0]:
                bridge = Bridge(ends[0], other, TOUCH_OHM)
                yield case.fault(
                    f"shorted {part.name}.{winding.name} {other}", "F06",
                    what=f"winding {winding.name} of {part.name} is shorted: lead {winding.ends[0]} touches {other}",
                    do="lift its leads one at a time, with the plug out in between, until the lamp goes dim",
                    effect=Otherwise(Rewiring("", bridges=(bridge,))), part=part.name, danger=OVERLOAD, odds=0.3,
                )  # fmt: skip


def _center_on_metal(case: FaultCase, part: Part, values: Transformer) -> Iterator[Fault]:
    """Yield the center tap of a heater winding taken for an earth lead, and bolted to the metal."""
    bolts = case.wired.pieces[METAL].keys
    for winding in values.windings[1:] if bolts else ():
        for end in winding.ends[1:-1]:
            key = f"{part.name}.{end}"
            lead = next((n for n in case.wired.at.get(key, ()) if n in case.wires), None)
            if winding.turns[0] >= HIGH_VOLT_V or lead is None:
                continue
            wire = case.wires[lead]
            far = next(k for k in wire.terminals if k != key)
            yield case.fault(
                f"center on metal {key}", "F09",
                what=f"{case.label(key)} was taken for an earth lead and is bolted to the metal", do=IDENTIFY,
                effect=case.wired.shifted(lead, far, bolts[-1]), part=part.name, wires=(wire.number,),
                terminals=(key, far),
            )  # fmt: skip


def _ends_and_taps(case: FaultCase, part: Part, values: Transformer) -> Iterator[Fault]:
    """Yield every two leads of one winding of an output transformer exchanged."""
    for winding in values.windings:
        for one, other in combinations(winding.ends, 2):
            keys = f"{part.name}.{one}", f"{part.name}.{other}"
            effect = case.wired.exchanged({keys[0]: keys[1], keys[1]: keys[0]}, own=True)
            if not effect:
                continue
            code = _exchanged_code(case, values, winding, (one, other))
            howls = code.code == "F72"
            yield case.fault(
                f"exchanged {keys[0]} {keys[1]}", code.code,
                what=f"{case.label(keys[0])} and {case.label(keys[1])} are exchanged"
                + (": the feedback is positive" if howls else ""),
                do="exchange these two leads, once the plug is out and the capacitors are down", effect=effect,
                part=part.name, terminals=keys, danger=code.danger, shows=("howl",) if howls else (),
            )  # fmt: skip


def _exchanged_code(case: FaultCase, values: Transformer, winding: Winding, pair: tuple[str, str]) -> Code:
    ends = {winding.ends[0], winding.ends[-1]}
    if set(pair) == ends and values.role == "output" and has_feedback(case.build):
        return Code("F72", HOWLS)
    if winding is values.windings[0]:
        return Code("F83") if len(winding.ends) > 2 and set(pair) != ends else Code("F55")
    return Code("F85")


def output_load(case: FaultCase) -> Iterator[Fault]:
    """Yield the speaker not there, and feedback taken from another tap."""
    for part, _ in case.parts(Speaker):
        yield case.fault(
            f"no load {part.name}", "F84", what=f"speaker {part.name} is not plugged in, or its cord is broken",
            do="plug it in; measure the cord", changes=(SetValue(part.name, "ohm", OPEN_OHM),), part=part.name,
            danger=NO_LOAD,
        )  # fmt: skip
    taps = [
        _joint(part, end)
        for part, values in case.parts(Transformer)
        if values.role == "output"
        for winding in values.windings[1:]
        for end in winding.ends
    ]
    for name in feedback_resistors(case.build):
        part = case.build.part(name)
        end = next(k for k, t in enumerate(part.terminals) if t.joint in taps)
        for tap in dict.fromkeys(taps):
            if tap not in (part.terminals[end].joint, GROUND, ""):
                moved = (Moved(name, "ab"[end], tap),)
                yield case.fault(
                    f"tap {name} {tap}", "F74", what=f"the feedback of {case.part_name(name)} comes from {tap}",
                    do=f"bring it to {part.terminals[end].joint}", effect=Otherwise(Rewiring("", moved=moved)),
                    part=name,
                )  # fmt: skip
