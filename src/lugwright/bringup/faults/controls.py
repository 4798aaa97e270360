"""Pots, switches, jacks and fuses wired or working otherwise than planned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.codes import NO_BIAS
from lugwright.bringup.faults.fault import Fault
from lugwright.buildfile.build import GROUND, Fuse, Jack, Part, Pot, Switch
from lugwright.circuit.edits import OPEN_OHM, ScaleValue, SetValue
from lugwright.circuit.elements import Resistor

CONTACT_OHM = 0.02
OPEN_FROM_OHM = 1e6
DECADE = 10.0
LUGS = ("1", "2", "3")
CONFUSED = (
    ("1", "3", "its ends are exchanged", "F65"),
    ("2", "3", "its wiper and its clockwise end are exchanged", "F67"),
    ("1", "2", "its wiper and its counterclockwise end are exchanged", "F67"),
)


def pot_wiring(case: FaultCase) -> Iterator[Fault]:
    """Yield each pot with two lugs exchanged, its ground or its wiper off, and of a tenth or ten times the value."""
    for part, pot in case.parts(Pot):
        for one, other, words, code in CONFUSED:
            keys = f"{part.name}.{one}", f"{part.name}.{other}"
            effect = case.wired.exchanged({keys[0]: keys[1], keys[1]: keys[0]}, own=False)
            if effect:
                yield case.fault(
                    f"exchanged {keys[0]} {keys[1]}", code, what=f"{_pot(part, pot)}: {words}",
                    do="look at it from the lug side, shaft away from you, and move the leads", effect=effect,
                    part=part.name, terminals=keys, shows=_backward(case, part) if code == "F65" else (),
                )  # fmt: skip
        yield from _off(case, part, pot)
        for factor in (1.0 / DECADE, DECADE):
            changes = tuple(ScaleValue(f"{part.name}.{half}", "ohm", factor) for half in ("1-2", "2-3"))
            yield case.fault(
                f"decade {part.name} {pot.ohm * factor:.3g}", "F58",
                what=f"{_pot(part, pot)} has {'ten times' if factor > 1.0 else 'a tenth of'} its value",
                do="read what is stamped on its back", changes=changes, part=part.name, odds=0.3,
            )  # fmt: skip


def _backward(case: FaultCase, part: Part) -> tuple[str, ...]:
    """Return how a pot with its ends exchanged shows: the ear tells, but for one that sets a bias."""
    carried = {case.classes.get(part.terminal(lug).joint) for lug in LUGS}
    return () if "bias" in carried else (f"backward {part.name}",)


def _pot(part: Part, pot: Pot) -> str:
    return f'pot {part.name} "{pot.label}"' if pot.label else f"pot {part.name}"


def _off(case: FaultCase, part: Part, pot: Pot) -> Iterator[Fault]:
    """Yield a pot whose wiper has lifted off the track, and one whose grounded end has no lead."""
    one, two, three = (case.classes.get(part.terminal(lug).joint) for lug in LUGS)
    bias = "bias" in (one, two, three)
    # Where the wiper is tied to an end, the whole track is left, and the bias goes to its most negative.
    tied = part.terminal("2").joint in (part.terminal("1").joint, part.terminal("3").joint)
    wiper = f"{part.name}.2"
    yield case.fault(
        f"wiper off {part.name}", "F35" if bias else "F99",
        what=f"the wiper of {_pot(part, pot)} does not touch its track",
        do="turn it to and fro; if the reading jumps, put in a new one", effect=case.wired.loose(wiper, wiper),
        part=part.name, terminals=(wiper,), danger=NO_BIAS if bias and not tied else "",
    )  # fmt: skip
    for lug in LUGS:
        key = f"{part.name}.{lug}"
        if case.terminal(key).joint == GROUND:
            effect = case.wired.loose(key, key)
            if effect:
                lug_now = {key: effect.rewiring.moved[0].to}  # a meter's tip is on the lug, not on the lead
                effect = replace(effect, stands={**effect.stands, **lug_now})
                yield case.fault(
                    f"no ground {key}", "F66", what=f"lug {lug} of {_pot(part, pot)} has no ground",
                    do="follow its ground lead to the bus", effect=effect, part=part.name, terminals=(key,),
                    shows=("hum",),
                )  # fmt: skip


def switch_or_jack(case: FaultCase) -> Iterator[Fault]:
    """Yield each contact open that should be closed, or the other way, and each jack with two leads exchanged."""
    for element in case.circuit.elements:
        if not isinstance(element, Resistor) or element.role != "contact":
            continue
        part = case.build.part_by_name.get(element.name.split(".")[0])
        if part is None or not isinstance(part.values, Switch | Jack | Pot):
            continue
        is_open = element.ohm > OPEN_FROM_OHM
        code = "F68" if isinstance(part.values, Jack) else "F99"
        yield case.fault(
            f"contact {element.name}", code,
            what=f"the contact {_contact(element.name)} of {_panel(part)} is {'closed' if is_open else 'open'}",
            do="work it a few times with the plug out and measure across it; bend it, clean it, or move the lead",
            changes=(SetValue(element.name, "ohm", CONTACT_OHM if is_open else OPEN_OHM),), part=part.name,
        )  # fmt: skip
    for part, jack in case.parts(Jack):
        keys = f"{part.name}.tip", f"{part.name}.tip_switch"
        if jack.switched and all(key in case.plan.terminals for key in keys):
            effect = case.wired.exchanged({keys[0]: keys[1], keys[1]: keys[0]}, own=False)
            if effect:
                yield case.fault(
                    f"exchanged {keys[0]} {keys[1]}", "F68",
                    what=f"the leads on tip and switch of {_panel(part)} are exchanged", do="move them",
                    effect=effect, part=part.name, terminals=keys,
                )  # fmt: skip


def _contact(element: str) -> str:
    return element.partition(".")[2].replace("_", " ").replace("-", " to ")


def _panel(part: Part) -> str:
    label = getattr(part.values, "label", "")
    return f'{part.kind} {part.name} "{label}"' if label else f"{part.kind} {part.name}"


def fuse(case: FaultCase) -> Iterator[Fault]:
    """Yield each fuse blown or not there."""
    for part, _ in case.parts(Fuse):
        yield case.fault(
            f"blown {part.name}", "F05", what=f"fuse {part.name} is blown, or not in its holder",
            do="plug out: measure it; put in a slow one of the printed amps; if it goes again, find out why",
            changes=(SetValue(part.name, "ohm", OPEN_OHM),), part=part.name,
        )  # fmt: skip
