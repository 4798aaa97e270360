"""The current in each heater wire: what the tubes beyond it draw, seen from the transformer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from lugwright.buildfile.build import Build, Tube
from lugwright.layout.joint_classes import heater_sides
from lugwright.layout.links import Link
from lugwright.layout.results import PlanTerminal

Ends = tuple[str, str]


def heater_amps(build: Build, terminals: Mapping[str, PlanTerminal], links: Sequence[Link]) -> dict[Ends, float]:
    """Return the current in each wire of a joint that feeds heaters, by the two terminals of the wire.

    Parameters
    ----------
    build : Build
        The amplifier.
    terminals : mapping
        Terminals of the plan by key.
    links : sequence of Link
        Every wire of the plan.

    Returns
    -------
    dict
        Current of the wire, rms. [A]

    Valid
    -----
    A wire that does not part the tubes from every transformer lead, as in a ring or between two feeds, is given the
    current of all tubes on its joint.

    Source
    ------
    Kirchhoff: through a wire of a tree flows what is drawn on the far side of it.
    """
    drawn, found = _drawn(build), {}
    for joint, at in drawn.items():
        wires = [link.terminals for link in links if link.joint == joint]
        feeds = {key for ends in wires for key in ends if terminals[key].kind == "exit"}
        for number, ends in enumerate(wires):
            rest = wires[:number] + wires[number + 1 :]
            sides = [_reached(key, rest) for key in ends]
            beyond = [side for side in sides if not side & feeds]
            parted = len(beyond) == 1 and sides[0] != sides[1]
            found[ends] = sum(amps for key, amps in at.items() if not parted or key in beyond[0])
    return found


def _drawn(build: Build) -> dict[str, dict[str, float]]:
    """Return what each tube draws from a joint, at the first of its pins there."""
    found: dict[str, dict[str, float]] = defaultdict(dict)
    for part in build.parts:
        if isinstance(part.values, Tube):
            first = {t.joint: f"{part.name}.{t.pins[0]}" for t in reversed(heater_sides(part)) if t.pins}
            for joint, key in sorted(first.items()):
                found[joint][key] = part.values.type.heater.amps
    return found


def _reached(start: str, wires: Sequence[Ends]) -> set[str]:
    """Return the terminals that hang together with one by some wires."""
    reached, grew = {start}, True
    while grew:
        grew = False
        for one, two in wires:
            if (one in reached) != (two in reached):
                reached |= {one, two}
                grew = True
    return reached
