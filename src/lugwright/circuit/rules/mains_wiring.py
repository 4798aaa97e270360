"""The mains side: one fuse, in the line, before everything; circuit ground on the metal once."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import (
    CHASSIS,
    EARTH,
    GROUND,
    Bond,
    Build,
    Fuse,
    Inlet,
    Jack,
    Part,
    Pot,
    Switch,
    Thermistor,
    Transformer,
)
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

NO_FUSE, NEUTRAL_FUSE, NO_BOND = "no-mains-fuse", "fuse-in-neutral", "ground-not-on-chassis"
SECOND_BOND, TWO_SIDED = "second-ground-bond", "single-pole-mains-switch"
SOURCE = "bench practice and appliance rules, from memory; your local electrical code decides"
_BONDED_OHM, _LOOP_BREAKER_OHM = 0.5, 1000.0


def through(part: Part, *, fuses: bool) -> Iterator[tuple[str, str]]:
    """Yield the pairs of joints a part passes mains current between, every switch position counted."""
    joint = {t.name: t.joint for t in part.terminals}
    values = part.values
    if isinstance(values, Switch):
        for name, one in joint.items():
            if not name.endswith("common"):
                yield one, joint[f"{name.split('.')[0]}.common"]
    elif isinstance(values, Pot) and values.switch_closed is not None:
        yield joint["s1"], joint["s2"]
    elif isinstance(values, Thermistor | Bond) or (fuses and isinstance(values, Fuse)):
        first, second = part.terminals[:2]
        yield first.joint, second.joint


def reached(build: Build, start: str, *, fuses: bool) -> set[str]:
    """Return the joints that conductors, contacts and (if asked) fuses join to a joint; never beyond the metal."""
    pairs = [pair for part in build.parts for pair in through(part, fuses=fuses)]
    found, waiting = {start}, [start]
    while waiting:
        joint = waiting.pop()
        if joint in (GROUND, CHASSIS, EARTH):
            continue
        for a, b in pairs:
            for here, there in ((a, b), (b, a)):
                if here == joint and there not in found:
                    found.add(there)
                    waiting.append(there)
    return found


def mains_fuse_place(case: Case) -> Iterator[Checked]:
    """Yield a danger without a fuse in the line, and a fault for a fuse in the neutral."""
    primaries = {
        part.terminal(end).joint
        for part, transformer in case.parts(Transformer)
        if transformer.role == "power"
        for end in transformer.windings[0].ends
    }
    for inlet, _ in case.parts(Inlet):
        line, neutral = inlet.terminal("line").joint, inlet.terminal("neutral").joint
        if reached(case.build, line, fuses=False) & primaries:
            yield case.finding(
                NO_FUSE, Grade.DANGER, inlet,
                what="no fuse between the mains line and the power transformer",
                found=f"{line} reaches the primary without a fuse",
                wanted="a slow fuse in the line, before the switch",
                do="put a fuse at the inlet: without it a shorted winding sets fire to the transformer",
                source=SOURCE,
            )  # fmt: skip
        neutral_side = reached(case.build, neutral, fuses=False)
        for fuse, _ in case.parts(Fuse):
            if neutral_side & {t.joint for t in fuse.terminals}:
                yield case.finding(
                    NEUTRAL_FUSE, Grade.FAULT, fuse,
                    what=f"fuse {fuse.name} is in the neutral",
                    found=f"{fuse.name} is joined to {neutral}",
                    wanted="a fuse in the line: when one in the neutral blows, everything inside stays live",
                    do=f"move {fuse.name} between the inlet's line and the switch",
                    source=SOURCE,
                )  # fmt: skip


def mains_switch_poles(case: Case) -> Iterator[Checked]:
    """Yield a note when the power switch leaves one conductor of the mains joined to the primary."""
    for inlet, _ in case.parts(Inlet):
        for part, switch in case.parts(Switch):
            sides = [
                side
                for side in ("line", "neutral")
                if {t.joint for t in part.terminals} & reached(case.build, inlet.terminal(side).joint, fuses=True)
            ]
            if len(sides) == 1:
                yield case.finding(
                    TWO_SIDED, Grade.NOTE, part,
                    what=f"switch {part.name} opens only the {sides[0]}",
                    found=f"{switch.poles} pole in the {sides[0]}, the other conductor always joined",
                    wanted="a switch that opens line and neutral",
                    do="use a double-pole switch: a wall outlet wired the wrong way round then harms nobody",
                    source=SOURCE,
                )  # fmt: skip


def ground_on_chassis(case: Case) -> Iterator[Checked]:
    """Yield a fault when circuit ground is not joined to the metal, a note when only through resistance."""
    for inlet, _ in case.parts(Inlet):
        ohm = case.network.resistance_to_ground_ohm(CHASSIS) if CHASSIS in case.circuit.joints else 1e12
        if ohm <= _BONDED_OHM:
            continue
        breaker = ohm <= _LOOP_BREAKER_OHM
        yield case.finding(
            NO_BOND, Grade.NOTE if breaker else Grade.FAULT, inlet,
            what="circuit ground reaches the metal through resistance only" if breaker
            else "circuit ground is not joined to the metal",
            found=f"{with_unit(ohm, 'Ω')} from ground to chassis" if breaker else "no bond from ground to chassis",
            wanted='a loop breaker that carries a fault: two power diodes across the resistor' if breaker
            else 'W2 = { purpose = "circuit ground", ends = ["ground", "chassis"] }',
            do="make sure that a short from B+ to the metal blows a fuse" if breaker
            else "bond it once, at the input jack: it floats, hums, and a fault may lift it to B+",
            source=SOURCE,
        )  # fmt: skip


def second_ground_bond(case: Case) -> Iterator[Checked]:
    """Yield a doubt for every bond from ground to the metal after the first."""
    bonds = [part for part, _ in case.parts(Bond) if {t.joint for t in part.terminals} == {GROUND, CHASSIS}]
    sleeves = [part for part, jack in case.parts(Jack) if not jack.isolated and part.terminal("sleeve").joint == GROUND]
    for part in [*bonds, *sleeves][1:]:
        by_sleeve = isinstance(part.values, Jack)
        yield case.finding(
            SECOND_BOND, Grade.DOUBT, part,
            what=f"{part.name} is a second bond of ground to the metal",
            found=f"the sleeve of {part.name} touches the metal by its bushing" if by_sleeve
            else f"{part.name} joins ground to chassis once more",
            wanted=f"one bond, {bonds[0].name if bonds else sleeves[0].name}: two make a loop that picks up hum",
            do="insulate the jack with shoulder washers (isolated = true)" if by_sleeve else "leave it out",
            source="bench practice: one chassis bond for the signal ground, quoted from builders' pages",
        )  # fmt: skip
