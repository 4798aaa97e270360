"""Heaters fed wrongly: halves in series, a leg on ground, no reference, a pair crossed, a chain too thin."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.wired import TOUCH_OHM, Otherwise
from lugwright.buildfile.build import CHASSIS, GROUND, Lamp, Part, Tube
from lugwright.circuit.edits import OPEN_OHM, SetValue
from lugwright.circuit.elements import Resistor
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring
from lugwright.layout.joint_classes import heater_pairs, heater_sides

THIN_SHARE = 0.1  # of its volts that the last heater loses in a chain of bell wire; from memory
HALF_SHORTED = "half the heater winding is shorted: it overheats, and resistors to ground burn"


def heater_wiring(case: FaultCase) -> Iterator[Fault]:
    """Yield what goes wrong at each socket, then what goes wrong with each chain."""
    for part, tube in case.parts(Tube):
        if "heater_tap" in tube.type.heater.pins:
            yield from _in_series(case, part)
        yield from _open(case, part)
        yield from _crossed(case, part)
    for pair in heater_pairs(case.build):
        yield from _legs(case, pair)
        yield from _thin(case, pair)
    yield from _no_reference(case)
    for part, _ in case.parts(Lamp):
        yield from _lamp_leg(case, part)


def _pin(part: Part, name: str) -> str:
    return f"{part.name}.{part.terminal(name).pins[0]}"


def _in_series(case: FaultCase, part: Part) -> Iterator[Fault]:
    """Yield a heater with a tap fed at its ends where both halves should be side by side."""
    one, two, tap = (part.terminal(f"heater{name}").joint for name in ("1", "2", "_tap"))
    if one != two or tap in (one, ""):
        return
    first, second = f"{part.name}.heater1-tap", f"{part.name}.heater2-tap"
    alone = f"{tap}'"
    moved = (Moved(first, "b", alone), Moved(second, "a", tap), Moved(second, "b", alone))
    stands = {_pin(part, "heater2"): tap, _pin(part, "heater_tap"): alone}
    yield case.fault(
        f"series {part.name}", "F11",
        what=f"the heater of {part.name} is wired in series: fed at pins 4 and 5, nothing on pin 9",
        do="join pins 4 and 5, and bring the other side to pin 9",
        effect=Otherwise(Rewiring("", moved=moved), stands), part=part.name, terminals=tuple(stands),
    )  # fmt: skip


def _open(case: FaultCase, part: Part) -> Iterator[Fault]:
    """Yield a heater that gets nothing at all: its own pins not soldered, or burnt out."""
    names = [e.name for e in case.circuit.elements if e.name.startswith(f"{part.name}.heater")]
    yield case.fault(
        f"heater open {part.name}", "F10",
        what=f"the heater of {part.name} is open: no contact at its pins, or burnt out",
        do="measure across its heater pins, tube in and plug out; solder the pins again, or try another tube",
        changes=[SetValue(name, "ohm", OPEN_OHM) for name in names], part=part.name, fitted=part.name,
    )  # fmt: skip


def _crossed(case: FaultCase, part: Part) -> Iterator[Fault]:
    """Yield the pair crossed at one socket: the heater does not mind, hum does."""
    sides = heater_sides(part)
    joints = sorted({t.joint for t in sides})
    if len(joints) != 2 or len(heater_pairs(case.build)) == 0 or _alone_on_its_pair(case, joints):
        return
    other = dict(zip(joints, reversed(joints), strict=True))
    moved = [
        Moved(e.name, end, other[getattr(e, end)])
        for e in case.circuit.elements
        if isinstance(e, Resistor) and e.name.startswith(f"{part.name}.heater")
        for end in ("a", "b")
        if getattr(e, end) in other
    ]
    stands = {f"{part.name}.{pin}": other[t.joint] for t in sides for pin in t.pins}
    yield case.fault(
        f"crossed {part.name}", "F15", what=f"the heater pair is crossed at {part.name}",
        do="with one tip on a heater pin of its neighbor, find the pin that reads nothing: those two belong together",
        effect=Otherwise(Rewiring("", moved=tuple(moved)), stands), part=part.name, terminals=tuple(stands),
        shows=("hum",),
    )  # fmt: skip


def _alone_on_its_pair(case: FaultCase, joints: list[str]) -> bool:
    fed = [p for p, _ in case.parts(Tube) if {t.joint for t in heater_sides(p)} == set(joints)]
    return len(fed) < 2


def _legs(case: FaultCase, pair: tuple[str, str]) -> Iterator[Fault]:
    """Yield each leg of a pair that touches ground, where nothing carries high voltage on it."""
    for leg in pair:
        if case.classes.get(leg) == "heater":
            effect = Otherwise(Rewiring("", bridges=(Bridge(GROUND, leg, TOUCH_OHM),)))
            yield case.fault(
                f"grounded {leg}", "F13", what=f"one heater leg ({leg}) touches ground",
                do="lift the center of the heaters and measure each leg to ground; look along the chain for a nick",
                effect=effect, danger=HALF_SHORTED, shows=("hum",),
            )  # fmt: skip


def _thin(case: FaultCase, pair: tuple[str, str]) -> Iterator[Fault]:
    """Yield a chain of wire too thin: its last tube, nearest the input, gets too little."""
    stage = {name: k for k, one in enumerate(case.build.stages) for name in one.parts}
    fed = [p for p, _ in case.parts(Tube) if {t.joint for t in heater_sides(p)} == set(pair)]
    if len(fed) < 2:
        return
    last = min(fed, key=lambda p: (stage.get(p.name, 99), p.name))
    heaters = [e for e in case.circuit.elements if e.name.startswith(f"{last.name}.heater") and isinstance(e, Resistor)]
    ohm = 1.0 / sum(1.0 / e.ohm for e in heaters)
    near = f"{pair[0]}'"
    moved = [Moved(e.name, end, near) for e in heaters for end in ("a", "b") if getattr(e, end) == pair[0]]
    stands = {f"{last.name}.{pin}": near for t in heater_sides(last) if t.joint == pair[0] for pin in t.pins}
    bridge = Bridge(pair[0], near, ohm * THIN_SHARE / (1.0 - THIN_SHARE))
    yield case.fault(
        f"thin chain {last.name}", "F17",
        what=f"the heater chain is too thin: its last tube {last.name} gets too little",
        do="measure the heater volts at the first and the last socket; twist a thicker pair",
        effect=Otherwise(Rewiring("", moved=tuple(moved), bridges=(bridge,)), stands), part=last.name,
    )  # fmt: skip


def _no_reference(case: FaultCase) -> Iterator[Fault]:
    """Yield heaters that nothing refers to ground: both center resistors, or the lead of the center tap, are off."""
    centers = [name for name, role in case.roles.items() if role == "heater center"]
    if len(centers) > 1:
        yield case.fault(
            "no heater reference", "F12",
            what=f"nothing refers the heaters to ground: {' and '.join(centers)} are open",
            do="measure each heater leg to ground; solder their common end",
            changes=[SetValue(name, "ohm", OPEN_OHM) for name in centers], part=centers[0], shows=("hum",),
        )  # fmt: skip


def _lamp_leg(case: FaultCase, part: Part) -> Iterator[Fault]:
    """Yield a pilot lamp that returns to the metal instead of the other leg."""
    if case.classes.get(part.terminal("2").joint) == "heater":
        key = f"{part.name}.2"
        effect = Otherwise(Rewiring("", moved=(Moved(part.name, "b", CHASSIS),)), {key: CHASSIS})
        yield case.fault(
            f"lamp leg {part.name}", "F19", what=f"pilot lamp {part.name} goes from one heater leg to the metal",
            do="bring its second lead to the other leg", effect=effect, part=part.name, terminals=(key,),
            shows=("hum",),
        )  # fmt: skip
