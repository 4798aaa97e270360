"""Strips and buses for a build that leaves them open: wide first, then only what its plan uses.

The free area is covered with lugs on parallel lines and planned upon; the lugs that such a plan uses
become strips; then strips are left out, cut, lengthened and shifted one at a time, each change judged
by a short plan search, as long as the whole becomes cheaper.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, LeftOpen, Strip, Tube
from lugwright.layout.board import BODY_KINDS
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import STRIP_TYPE, Hardware
from lugwright.layout.joint_classes import JointFacts, joint_facts
from lugwright.layout.results import PlanTerminal, SeatedPart
from lugwright.layout.rules.spare_lugs import spare_lugs_wanted
from lugwright.layout.strip_lines import Lines, Pattern, buses_of, lines_of, with_lines
from lugwright.layout.strip_moves import Rules, changes, longer
from lugwright.layout.strip_room import (
    hanging_parts,
    raise_if_no_room,
    raise_if_not_all_stand,
    raise_if_too_few,
    raise_if_too_many,
)
from lugwright.layout.strip_space import Space, along_bus, free_space
from lugwright.layout.strip_trial import Trial, try_strips
from lugwright.layout.strip_windows import free_names, named_windows, strips_of, windows_for

# What is paid for tidiness, in the planner's unit, a millimeter of ordinary wire.
STRIP_COST = 300.0  # a strip is a hole, a screw, a foot lost to the circuit and ten minutes of work
LUG_COST = 15.0  # a lug is room others could use; strips are as short as their wiring allows
STOPPER_COST = 600.0  # a grid stopper that reaches its pin from no lug: a doubt of the plan's rules
LONG_GRID, GRID_MM = (
    8.0,
    45.0,
)  # for each mm a grid wire is longer, straight; routed it is a third longer, and the rule 60
HEAT_AGAIN = 4.0  # times the planner's price of a hot resistor beside an electrolytic: a doubt of its rules too
SPARE_COST = 100.0  # for each lug that is missing from a tenth to spare
# Lines counted from the middle of the sockets: 38 mm off, a half-watt resistor reaches from pin to lug and the bus lies
# beyond the first row; 52 mm off, the bus lies between sockets and first row and takes the cathode parts.
PATTERNS = (Pattern(0, 38.0, 38.0), Pattern(0, 34.0, 35.0), Pattern(0, 52.0, 38.0), Pattern(90, 38.0, 38.0))
BUS_PATTERNS = tuple(Pattern(turn, first, 30.0) for turn in (0, 90) for first in (0.0, 10.0, 20.0))
WIDE_SHARE = 0.03  # of the moves of a whole plan search: enough to tell patterns apart
NARROW_SHARE = 0.1
MOVE_SHARE = 0.03
LAST_SHARE = 1.0
# Lugs kept at first for each lug the wide plan uses, and what a strip must be worth, in leads; the first that works.
NARROWER = ((1.5, 5.0), (2.0, 2.5), (3.0, 1.0), (9.0, 0.0))
SPARE_IN_HAND = 1  # lugs that the whole plan may use more than the last trial
TRIALS = 40  # changes tried
RETRY_AFTER = 30  # trials, after which a change that did not pay may be tried again
SITES, SITES_A_PART = 60, 4  # places for lugs looked at: a generated plan needs about one lug a part


@dataclass(frozen=True)
class _Task:
    build: Build
    hardware: Hardware
    facts: Mapping[str, JointFacts]
    terminals: Mapping[str, PlanTerminal]
    space: Space

    def trial(self, build: Build, share: float, earlier: Trial | None = None) -> Trial:
        return try_strips(build, self.hardware, self.facts, share=share, earlier=earlier)

    @property
    def strip_type(self) -> str:
        kinds = [strip.type for strip in self.build.left_open.strips]
        return kinds[0] if kinds else STRIP_TYPE


@dataclass(frozen=True)
class Placed:
    """A build with nothing left open, and the seats its parts had in the last trial; none where there was no search."""

    build: Build
    seats: tuple[SeatedPart, ...] = ()


def place_strips(build: Build, *, joint_volts: Mapping[str, float], hardware: Hardware) -> Placed:
    """Return a build with strips and buses where it leaves them open.

    Parameters
    ----------
    build : Build
        The amplifier, with its chassis; what it states stays.
    joint_volts : mapping
        Largest DC voltage of each joint against ground. [V]
    hardware : Hardware
        Catalogue entries.

    Returns
    -------
    Placed
        The same build with nothing left open, and a plan to start from.

    Raises
    ------
    PlanError
        There is no room for the strips the build needs.
    """
    build = needed(build)
    raise_if_too_many(build)
    terminals = fixed_terminals(build, hardware)
    task = _Task(build, hardware, joint_facts(build, joint_volts), terminals, free_space(build, hardware, terminals))
    if not (build.left_open.strips or build.left_open.any_strips):
        return Placed(_closed(_with_buses(task)))
    lines, wide = _widest(task)
    best = _improved(task, _narrowed(task, lines, wide))
    raise_if_too_few(build.left_open.strips, best)
    best = min(best, task.trial(best.build, LAST_SHARE, best), key=lambda trial: trial.cost)
    names = {} if build.left_open.strips else _letters(task, best.build)
    strips = tuple(replace(strip, name=names.get(strip.name, strip.name)) for strip in _with_spare(task, best))
    return Placed(_closed(replace(best.build, strips=_sorted(strips, task.build))), best.seated(names))


def _with_spare(task: _Task, trial: Trial) -> tuple[Strip, ...]:
    """Return the strips of a trial, longer where a tenth of the lugs would not stay spare; that changes no plan."""
    strips, rules = trial.build.strips, _rules(task, trial.build)
    used = sum(1 for count in trial.leads.values() if count)
    lacking = spare_lugs_wanted(used + SPARE_IN_HAND) + SPARE_IN_HAND - (len(trial.leads) - used)
    for _ in range(lacking):
        strips = next(longer(strips, rules), strips)
    return strips


def _letters(task: _Task, placed: Build) -> dict[str, str]:
    """Return new letters for the new strips, in order from the rear left on."""
    stated = {strip.name for strip in task.build.strips}
    new = sorted((s for s in placed.strips if s.name not in stated), key=lambda strip: (strip.at[1], strip.at[0]))
    return {strip.name: name for strip, name in zip(new, free_names(task.build), strict=False)}


def _sorted(strips: tuple[Strip, ...], build: Build) -> tuple[Strip, ...]:
    """Return the stated strips as they were, then the new ones by name."""
    stated = {strip.name: index for index, strip in enumerate(build.strips)}
    return tuple(sorted(strips, key=lambda s: (stated.get(s.name, len(stated)), len(s.name), s.name)))


def _closed(build: Build) -> Build:
    return replace(build, left_open=LeftOpen())


def needed(build: Build) -> Build:
    """Return the build without open buses that no part with two leads would end on."""
    ends = {t.joint for part in build.parts if isinstance(part.values, BODY_KINDS) for t in part.terminals}
    buses = tuple(bus for bus in build.left_open.buses if bus.joint in ends)
    return replace(build, left_open=replace(build.left_open, buses=buses))


def _with_buses(task: _Task) -> Build:
    """Return a build whose strips are stated with the open buses that make its plan cheapest."""
    found: list[tuple[float, int, Build]] = []
    for number, pattern in enumerate(BUS_PATTERNS):
        buses = buses_of(task.build, task.space, task.terminals, pattern)
        if buses:
            build = replace(task.build, buses=(*task.build.buses, *buses))
            found.append((task.trial(build, WIDE_SHARE).cost, number, build))
    return min(found, key=lambda row: row[:2])[2] if found else task.build


def _widest(task: _Task) -> tuple[Lines, Trial]:
    """Return the pattern of lines on which the plan is cheapest, and that plan."""
    found: list[tuple[float, int, Lines, Trial]] = []
    pitch, most = task.hardware.strips[task.strip_type].pitch_mm, SITES + SITES_A_PART * hanging_parts(task.build)
    for number, relative in enumerate(PATTERNS):
        pattern = replace(relative, first=relative.first + _socket_line(task.build, relative.turn))
        lines = lines_of(task.build, task.space, task.terminals, pattern, pitch, most)
        trial = task.trial(with_lines(task.build, lines, task.strip_type), WIDE_SHARE)
        found.append((trial.cost + troubles(trial), number, lines, trial))
    _, _, lines, trial = min(found, key=lambda row: row[:2])
    if not trial.whole:
        trial = task.trial(trial.build, 1.0, trial)
    raise_if_no_room(task.build, sum(run.count for run in lines.runs), trial)
    return lines, trial


def _socket_line(build: Build, turn: int) -> float:
    """Return where the middle one of the sockets stands, across lines of that turn; whole millimeters."""
    at = sorted(
        placement.at[1 if turn == 0 else 0]
        for name, placement in build.placements.items()
        if placement.panel == "plate" and isinstance(build.part(name).values, Tube)
    )
    return float(round(at[len(at) // 2])) if at else 0.0


def _leads(lines: Lines, trial: Trial) -> dict[tuple[int, int], int]:
    """Return the leads of a wide plan by run and place."""
    at = {f"~{n}.{k + 1}": (n, k) for n, run in enumerate(lines.runs) for k in range(run.count)}
    return {at[key]: count for key, count in trial.leads.items() if key in at}


def _narrowed(task: _Task, lines: Lines, wide: Trial) -> Trial:
    """Return a trial on strips that stand where the wide plan uses lugs."""
    leads = _leads(lines, wide)
    used = sum(1 for count in leads.values() if count)
    wanted = task.build.left_open.strips
    trial = wide
    for lugs, strip_price in NARROWER:
        if wanted:
            windows = named_windows(lines.runs, leads, task.space, wanted)
        else:
            windows = windows_for(lines.runs, leads, task.space, round(lugs * used), strip_price)
        strips = strips_of(lines.runs, windows, task.build, task.strip_type)
        raise_if_not_all_stand(task.build, wanted, strips)
        build = replace(task.build, strips=(*task.build.strips, *strips), buses=(*task.build.buses, *lines.buses))
        trial = task.trial(build, NARROW_SHARE, wide)
        if trial.whole or wanted:
            break
    return trial


def price(trial: Trial) -> float:
    """Return what a trial costs with its strips and lugs. [mm of ordinary wire]"""
    leads = trial.leads
    used = sum(1 for count in leads.values() if count)
    lacking = max(0, spare_lugs_wanted(used) - (len(leads) - used))
    tidiness = STRIP_COST * len(trial.build.strips) + LUG_COST * len(leads) + SPARE_COST * lacking
    return trial.cost + tidiness + troubles(trial)


def troubles(trial: Trial) -> float:
    """Return the price of what the rules of a plan would doubt. [mm of ordinary wire]"""
    heat = HEAT_AGAIN * trial.bench.cost_terms()["heat"]
    return STOPPER_COST * trial.stoppers_off + LONG_GRID * trial.long_grids_mm(GRID_MM) + heat


def _improved(task: _Task, trial: Trial) -> Trial:
    """Return the best set of strips that changes, one at a time, lead to."""
    rules, best, now = _rules(task, trial.build), trial, price(trial)
    tried_at: dict[tuple[Strip, ...], int] = {}
    count, found = 0, True
    while found and count < TRIALS:
        found = False
        for _, strips in changes(best.build.strips, best.leads, rules):
            if count - tried_at.get(strips, -RETRY_AFTER) < RETRY_AFTER:
                continue
            count += 1
            tried_at[strips] = count
            tried = task.trial(replace(best.build, strips=strips), MOVE_SHARE, best)
            if price(tried) < now - 1e-6:
                best, now, found = tried, price(tried), True
                break
            if count >= TRIALS:
                break
    return best


def _rules(task: _Task, build: Build) -> Rules:
    stated = {strip.name for strip in task.build.strips}
    wanted = task.build.left_open.strips
    return Rules(
        pitch_mm={name: row.pitch_mm for name, row in task.hardware.strips.items()},
        space=task.space.without([shape for bus in build.buses for shape in along_bus(bus.points)]),
        open_names=frozenset(strip.name for strip in build.strips if strip.name not in stated),
        removable=not wanted,
        sized=frozenset(strip.name for strip in wanted if strip.lugs is not None),
    )
