"""Electrolytics and diodes the wrong way round, and capacitors that leak."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.codes import AC_ON_IT, LEAKY, REVERSED
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.wired import Otherwise
from lugwright.buildfile.build import Bridge, Can, Capacitor, Diode, Part
from lugwright.circuit.edits import SetValue
from lugwright.circuit.rewiring import Moved, Rewiring

# What a reversed electrolytic passes, by its rating; a leaky one passes a tenth of it. From memory of a few specimens:
# the current climbs while the oxide is eaten, so this is the first minute only.
HIGH_VOLT_V = 100.0
REVERSED_OHM = {True: 10e3, False: 1e3}  # rated at HIGH_VOLT_V or more, rated less
LEAKY_SHARE = 0.1
COUPLING_LEAKS_OHM = (10e6, 3.3e6, 1e6)
LEAK_ODDS = 2.0 / 3.0  # of each: three sizes of one fault
IN_SIGNAL = ("coupling", "grid capacitor", "signal capacitor", "tone part")
DO_CAP = "switch off, let it discharge, measure it below 60 V, and put in a new one with its + where the plan says"


def backward(case: FaultCase) -> Iterator[Fault]:
    """Yield each electrolytic and each diode the wrong way round."""
    for part, volts, element in _electrolytics(case, turned=True):
        code = case.code(element, REVERSED)
        yield case.fault(
            f"reversed {element}", code.code, what=f"{_name(case, part, element)} is wired backward", do=DO_CAP,
            changes=(SetValue(element, "leak_s", 1.0 / REVERSED_OHM[volts >= HIGH_VOLT_V]),), part=part.name,
            danger=code.danger, shows=(f"hot {part.name}",),
        )  # fmt: skip
    for part, _ in case.parts(Diode):
        anode, cathode = (part.terminal(name).joint for name in ("anode", "cathode"))
        turned = (Moved(part.name, "anode", cathode), Moved(part.name, "cathode", anode))
        code = case.code(part.name, REVERSED)
        yield case.fault(
            f"reversed {part.name}", code.code, what=f"{case.part_name(part.name)} is in backward",
            do="turn it round: its band is the cathode", effect=Otherwise(Rewiring("", moved=turned)), part=part.name,
            danger=code.danger,
        )  # fmt: skip
    for part, _ in case.parts(Bridge):
        yield from _bridge_misread(case, part)


def _bridge_misread(case: FaultCase, part: Part) -> Iterator[Fault]:
    """Yield a bridge rectifier whose alternating and direct lugs are taken for each other."""
    plus, ac = f"{part.name}.plus", f"{part.name}.ac1"
    if plus in case.plan.terminals and ac in case.plan.terminals:
        effect = case.wired.exchanged({plus: ac, ac: plus}, own=False)
        yield case.fault(
            f"misread {part.name}", "F21", what=f"plus and one alternating lug of {part.name} are exchanged",
            do="read the marks on its body again, and move the leads", effect=effect, part=part.name,
            terminals=(plus, ac), danger=AC_ON_IT,
        )  # fmt: skip


def leaky(case: FaultCase) -> Iterator[Fault]:
    """Yield each coupling capacitor that passes direct current, and each electrolytic that passes too much."""
    for part, capacitor in case.parts(Capacitor):
        if not capacitor.polar and case.roles[part.name] in IN_SIGNAL:
            for ohm in COUPLING_LEAKS_OHM:
                code = case.code(part.name, LEAKY)
                yield case.fault(
                    f"leaky {part.name} {ohm:.0e}", code.code,
                    what=f"{case.part_name(part.name)} leaks: about {ohm / 1e6:g} MΩ",
                    do="put in a new one; a good one passes less than a microampere at its rated volts",
                    changes=(SetValue(part.name, "leak_s", 1.0 / ohm),), odds=LEAK_ODDS, part=part.name,
                    danger=code.danger,
                )  # fmt: skip
    for part, volts, element in _electrolytics(case, turned=False):
        code = case.code(element, LEAKY)
        yield case.fault(
            f"leaky {element}", code.code, what=f"{_name(case, part, element)} leaks", do="put in a new one",
            changes=(SetValue(element, "leak_s", LEAKY_SHARE / REVERSED_OHM[volts >= HIGH_VOLT_V]),), part=part.name,
            danger=code.danger,
        )  # fmt: skip


def _electrolytics(case: FaultCase, *, turned: bool) -> Iterator[tuple[Part, float, str]]:
    """Yield every electrolytic and every section of a can, those that can be turned round: part, volts, element."""
    for part, capacitor in case.parts(Capacitor):
        if capacitor.polar:
            yield part, capacitor.volts, part.name
    for part, can in case.parts(Can):
        if len(can.farads) == 1 or not turned:  # sections with one minus between them cannot be turned round alone
            for terminal in part.terminals[: len(can.farads)]:
                yield part, can.volts, f"{part.name}.{terminal.name}"


def _name(case: FaultCase, part: Part, element: str) -> str:
    section = element.removeprefix(part.name).removeprefix(".")
    name = case.part_name(part.name)
    return f"section {section} of {name}" if section else name
