"""Where what is dragged by hand is put down: the leads of a part on the nearest terminals, a strip on its place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from lugwright.buildfile.build import Build, Strip
from lugwright.errors import PlanError
from lugwright.layout.frozen import Frozen
from lugwright.layout.holds import Ends
from lugwright.layout.objective import MAX_LEAD_MM, MIN_LEAD_MM
from lugwright.layout.results import Plan, PlanTerminal, Put, PutPart, SeatedPart

NEAR = 8  # terminals about the end of a lead that are looked at
BEYOND_REACH_MM = (
    1000.0  # a pair the part does not span comes after all that it does; if there is no other, it is asked
)
NO_LEADS = ("exit",)  # kinds of terminals that a part's lead never goes to


def ends_near(plan: Plan, part: str, by_mm: tuple[float, float]) -> Ends:
    """Return the two terminals nearest to where a part's ends were dragged to, among those it can hang between.

    Raises
    ------
    PlanError
        It does not hang between two terminals, or it was put down where it is.
    """
    seat = next((seat for seat in plan.seats if seat.part == part), None)
    if seat is None:
        raise PlanError(
            what=f"{part} cannot be dragged",
            found=f"{part} does not hang between two terminals of this plan",
            wanted="a part held by its two leads, or a strip",
            do="say in the build file where it stands, under [place]",
        )
    ends = min(_pairs(plan, seat, by_mm))[1]
    if set(ends) == set(seat.terminals):
        one, two = (plan.terminals[key].label for key in seat.terminals)
        raise PlanError(
            what=f"{part} stays where it is",
            found=f"the nearest terminals it can hang between are {one} and {two}, its own",
            wanted="other lugs nearer to where it was put down",
            do=f"drag it farther, or choose the two terminals in the card of {part}",
        )
    return ends


def _pairs(plan: Plan, seat: SeatedPart, by_mm: tuple[float, float]) -> Iterator[tuple[float, Ends]]:
    """Yield how far each pair of terminals is from where the ends were dragged to."""
    one, two = (list(_near(plan, key, by_mm)) for key in seat.terminals)
    least = seat.body_length_mm + 2.0 * MIN_LEAD_MM
    most = seat.body_length_mm + 2.0 * MAX_LEAD_MM
    for off_a, a in one:
        for off_b, b in two:
            if a.key != b.key:
                span = math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm))
                yield off_a + off_b + (0.0 if least <= span <= most else BEYOND_REACH_MM), (a.key, b.key)


def _near(plan: Plan, key: str, by_mm: tuple[float, float]) -> list[tuple[float, PlanTerminal]]:
    here = plan.terminals[key]
    at = here.x_mm + by_mm[0], here.y_mm + by_mm[1]
    able = [t for t in plan.terminals.values() if t.kind == "lug" or (t.joint == here.joint and t.kind not in NO_LEADS)]
    found = [(math.dist(at, (t.x_mm, t.y_mm)), t) for t in able if t.capacity]
    return sorted(found, key=lambda pair: (pair[0], pair[1].key))[:NEAR]


def put_down(build: Build, put: Put, frozen: Frozen) -> Build:
    """Return the build with something put elsewhere by hand.

    Raises
    ------
    PlanError
        There is no such strip, or something is soldered to it.
    """
    if isinstance(put, PutPart):
        between = {**build.wishes.between, put.part: put.ends}
        places = {name: place for name, place in build.wishes.places.items() if name != f"between {put.part}"}
        return replace(build, wishes=replace(build.wishes, between=between, places=places))
    strips: Mapping[str, Strip] = {strip.name: strip for strip in build.strips}
    if put.strip not in strips:
        raise PlanError(
            what=f"there is no strip {put.strip}",
            found=put.strip,
            wanted=", ".join(strips) or "a build with strips",
            do="choose one of them",
        )
    if leads := soldered_to(put.strip, frozen):
        raise PlanError(
            what=f"strip {put.strip} cannot be moved",
            found=f"{', '.join(leads)} {'is' if len(leads) == 1 else 'are'} in it already",
            wanted="a strip that nothing is soldered to",
            do="take that out and tick it off first, or move another strip",
        )
    moved = tuple(replace(s, at=put.at, turn=put.turn) if s.name == put.strip else s for s in build.strips)
    return replace(build, strips=moved)


def soldered_to(owner: str, frozen: Frozen) -> tuple[str, ...]:
    """Return what is in the lugs of a strip, in words."""
    found = [f"{part}.{lead}" for part, lead, key in sorted(frozen.leads) if key.rpartition(".")[0] == owner]
    found += [f"W{w.number}" for w in frozen.wires if any(key.rpartition(".")[0] == owner for key in w.terminals)]
    found += [f"solder on {key}" for key in sorted(frozen.soldered) if key.rpartition(".")[0] == owner and not found]
    return tuple(found)


def is_put(build: Build, plan: Plan, put: Put) -> bool:
    """Return whether a plan has it so already."""
    if isinstance(put, PutPart):
        return any(seat.part == put.part and set(seat.terminals) == set(put.ends) for seat in plan.seats)
    return any(s.name == put.strip and s.at == put.at and s.turn == put.turn for s in build.strips)
