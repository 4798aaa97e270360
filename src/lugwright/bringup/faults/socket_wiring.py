"""Sockets wired as if pins counted otherwise, and electrodes whose wires are exchanged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.buildfile.build import Part, Tube

WRONG_PINS = "high voltage stands on the wrong electrodes, and perhaps on the heater"
COUNT = "count the pins again from below, clockwise from the gap or key, and move every lead"
SWAPS = (
    ("plate", "cathode"),
    ("grid", "cathode"),
    ("plate", "grid"),
    ("plate", "screen"),
    ("grid", "screen"),
)


def counted_wrong(case: FaultCase) -> Iterator[Fault]:
    """Yield each socket mirrored, and turned by one pin either way; who counts so when soldering measures so, too."""
    for part, _ in case.parts(Tube):
        pins = _pins(case, part)
        for name, words, places in _countings(list(pins)):
            # What was planned for pin p is soldered to pin places[p]: the electrode there has the leads of p.
            to = {pins[places[p]]: pins[p] for p in pins}
            effect = case.wired.exchanged(to, own=True)
            if effect:
                yield case.fault(
                    f"{name} {part.name}", "F54", what=f"the socket of {part.name} is wired wrong: {words}", do=COUNT,
                    effect=effect, part=part.name, terminals=tuple(pins.values()), danger=WRONG_PINS,
                    odds=1.0 if name == "mirrored" else 0.25,
                )  # fmt: skip


def _countings(pins: list[int]) -> Iterator[tuple[str, str, dict[int, int]]]:
    """Yield how pins may be counted: a name, words, and where each planned pin lands."""
    turned = [*pins[1:], pins[0]]
    yield "mirrored", "its pins are counted from above: 1 is the last pin", dict(zip(pins, reversed(pins), strict=True))
    yield "one on", "its pins are counted from one pin too far", dict(zip(pins, turned, strict=True))
    yield "one back", "its pins are counted from one pin too early", dict(zip(turned, pins, strict=True))


def _pins(case: FaultCase, part: Part) -> Mapping[int, str]:
    keys = [t.key for t in case.plan.terminals.values() if t.owner == part.name and t.kind == "pin"]
    return {int(key.rpartition(".")[2]): key for key in keys}


def swapped(case: FaultCase) -> Iterator[Fault]:
    """Yield two electrodes of a tube with their leads exchanged, and the two halves of a double tube."""
    for part, tube in case.parts(Tube):
        for section in tube.type.sections:
            name = f"{part.name}{section.letter}"
            for one, other in SWAPS:
                if one in section.pins and other in section.pins:
                    yield from _exchange(
                        case, part, {section.pins[one][0]: section.pins[other][0]}, f"{name} {one} {other}", "F50",
                        what=f"the leads of {one} and {other} of {name} are exchanged",
                        danger=WRONG_PINS if {"plate", "screen"} & {one, other} else "",
                    )  # fmt: skip
        if len(tube.type.sections) == 2:
            a, b = (section.pins for section in tube.type.sections)
            pins = {a[name][0]: b[name][0] for name in a if name in b}
            what = f"the two halves of {part.name} are exchanged"
            yield from _exchange(case, part, pins, f"{part.name} halves", "F55", what=what, danger="")


def _exchange(
    case: FaultCase, part: Part, pins: Mapping[int, int], key: str, code: str, *, what: str, danger: str
) -> Iterator[Fault]:
    to = {f"{part.name}.{a}": f"{part.name}.{b}" for a, b in pins.items()}
    to |= {b: a for a, b in to.items()}
    effect = case.wired.exchanged(to, own=False)
    if effect:
        yield case.fault(
            f"exchanged {key}", code, what=what, do="compare each pin with the plan, and move the leads", effect=effect,
            part=part.name, terminals=tuple(to), danger=danger,
        )  # fmt: skip
