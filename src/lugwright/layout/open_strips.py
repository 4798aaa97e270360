"""A build that leaves strips or the bus open, and its plan: as stored while that works, else proposed afresh."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace

from lugwright.buildfile.build import Build, LeftOpen
from lugwright.errors import PlanError
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.frozen import Frozen
from lugwright.layout.hardware import Hardware
from lugwright.layout.lug_plan import NOTHING_YET, plan_lugs
from lugwright.layout.results import Plan, SeatedPart
from lugwright.layout.rules.spare_lugs import spare_lugs_wanted
from lugwright.layout.strip_moves import Rules, longer, may_stand
from lugwright.layout.strip_placing import needed, place_strips
from lugwright.layout.strip_space import free_space

SPARE_ROUNDS = 3  # plans made on longer strips, at most


def planned_build(
    build: Build,
    *,
    joint_volts: Mapping[str, float],
    hardware: Hardware,
    previous: Plan | None = None,
    frozen: Frozen = NOTHING_YET,
) -> tuple[Build, Plan]:
    """Return a build with its open strips and buses placed, and the plan on them.

    Parameters
    ----------
    build : Build
        The amplifier as its file states it.
    joint_volts : mapping
        Largest DC voltage of each joint against ground, cold tubes included. [V]
    hardware : Hardware
        Catalogue entries.
    previous : Plan, optional
        The stored plan; its strips stay where they are as long as a plan on them is possible.
    frozen : Frozen, optional
        What is soldered; strips and buses with anything on them stay whatever comes.

    Returns
    -------
    tuple of Build and Plan
        Nothing is open any more; the plan names what was.

    Raises
    ------
    PlanError
        There is no room for the strips, or no plan on them.
    """
    volts = joint_volts
    stored = None if previous is None else as_stored(build, previous, hardware)
    if stored is not None:
        with suppress(PlanError):
            plan = plan_lugs(stored, joint_volts=volts, previous=previous, hardware=hardware, frozen=frozen)
            return stored, _naming(build, stored, plan)
    begun = build if previous is None else _with_begun(build, previous, frozen)
    placed = place_strips(begun, joint_volts=volts, hardware=hardware)
    start = Plan(build.title, {}, placed.seats, (), (), {})
    found = placed.build
    plan = plan_lugs(found, joint_volts=volts, previous=start, hardware=hardware, frozen=frozen)
    for _ in range(SPARE_ROUNDS):
        more = _with_spare(begun, found, plan, hardware)
        if more is None:
            break
        start, found = Plan(build.title, {}, _renumbered(plan, found, more), (), (), {}), more
        plan = plan_lugs(found, joint_volts=volts, previous=start, hardware=hardware, frozen=frozen)
    return found, _naming(build, found, plan)


def _with_spare(begun: Build, found: Build, plan: Plan, hardware: Hardware) -> Build | None:
    """Return the build with longer strips when too few lugs are left; None when enough are, or no strip can grow."""
    spare = len(plan.spare_lugs)
    used = sum(1 for t in plan.terminals.values() if t.kind == "lug") - spare
    open_names = frozenset(s.name for s in found.strips) - {s.name for s in begun.strips}
    space = free_space(replace(begun, buses=found.buses), hardware, fixed_terminals(begun, hardware))
    pitch = {name: row.pitch_mm for name, row in hardware.strips.items()}
    sized = frozenset(strip.name for strip in begun.left_open.strips if strip.lugs is not None)
    rules, strips = Rules(pitch, space, open_names, False, sized), found.strips
    for _ in range(spare_lugs_wanted(used) - spare):
        strips = next(itertools.chain(longer(strips, rules), longer(strips, rules, before=True)), strips)
    return None if strips == found.strips else replace(found, strips=strips)


def _renumbered(plan: Plan, old: Build, new: Build) -> tuple[SeatedPart, ...]:
    """Return the seats of a plan with the lugs of each strip counted from where it begins now."""
    begins = {strip.name: strip.feet for strip in old.strips}
    shift = {strip.name: strip.feet[0] - begins[strip.name][0] for strip in new.strips if strip.feet}

    def now(key: str) -> str:
        owner, _, lug = key.rpartition(".")
        return f"{owner}.{int(lug) + shift[owner]}" if shift.get(owner) else key

    return tuple(replace(s, terminals=(now(s.terminals[0]), now(s.terminals[1]))) for s in plan.seats)


def _with_begun(build: Build, previous: Plan, frozen: Frozen) -> Build:
    """Return the build with those strips and buses of a stored plan stated that something is soldered to."""
    keys = {key for *_, key in frozen.leads} | {key for w in frozen.wires for key in w.terminals} | frozen.soldered
    owners = {key.rpartition(".")[0] for key in keys} - {strip.name for strip in build.strips}
    strips = tuple(strip for strip in previous.strips if strip.name in owners)
    buses = tuple(bus for bus in previous.buses if bus.name in owners)
    standing = {strip.name for strip in strips} | {bus.name for bus in buses}
    still_open = replace(
        build.left_open,
        strips=tuple(strip for strip in build.left_open.strips if strip.name not in standing),
        buses=tuple(bus for bus in build.left_open.buses if bus.name not in standing),
    )
    return replace(build, strips=(*build.strips, *strips), buses=(*build.buses, *buses), left_open=still_open)


def _naming(build: Build, placed: Build, plan: Plan) -> Plan:
    """Return the plan with the strips and buses that the build leaves open."""
    stated = {strip.name for strip in build.strips}, {bus.name for bus in build.buses}
    return replace(
        plan,
        strips=tuple(strip for strip in placed.strips if strip.name not in stated[0]),
        buses=tuple(bus for bus in placed.buses if bus.name not in stated[1]),
    )


def as_stored(build: Build, previous: Plan, hardware: Hardware) -> Build | None:
    """Return the build with the strips and buses of a stored plan, None where they are not what it leaves open."""
    if not _answers(build, previous, hardware):
        return None
    terminals = fixed_terminals(build, hardware)
    pitch = {name: row.pitch_mm for name, row in hardware.strips.items()}
    rules = Rules(pitch, free_space(build, hardware, terminals), frozenset(), False, frozenset())
    if not all(may_stand(strip, [o for o in previous.strips if o is not strip], rules) for strip in previous.strips):
        return None
    strips, buses = (*build.strips, *previous.strips), (*build.buses, *previous.buses)
    return replace(build, strips=strips, buses=buses, left_open=LeftOpen())


def _answers(build: Build, previous: Plan, hardware: Hardware) -> bool:
    """Return whether the strips and buses of a stored plan are those that a build leaves open."""
    wanted, strips, buses = needed(build).left_open, previous.strips, previous.buses
    names = {strip.name: strip for strip in wanted.strips}
    if wanted.any_strips != bool(strips and not names) or {bus.name for bus in buses} != {b.name for b in wanted.buses}:
        return False
    if not wanted.any_strips and set(names) != {strip.name for strip in strips}:
        return False
    if {owner.name for owner in build.strips} & {strip.name for strip in strips}:
        return False
    asked = [(strip, names.get(strip.name)) for strip in strips]
    return all(strip.type in hardware.strips and (a is None or a.lugs in (None, strip.lugs)) for strip, a in asked)
