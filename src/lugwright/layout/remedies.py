"""The smallest changes that make an impossible plan possible, found by trying each on the planner."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, Strip
from lugwright.errors import NoWholePlan, PlanError
from lugwright.layout.anneal import fill, repair
from lugwright.layout.board import FREE, make_board
from lugwright.layout.charging_loop import charging_wires
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.check_places import check_places
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.heater_chain import heater_chains
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.other_bodies import other_bodies
from lugwright.layout.price import least_lugs
from lugwright.layout.search import Bench
from lugwright.layout.shortage import raise_if_outside
from lugwright.layout.strip_moves import Rules, may_stand
from lugwright.layout.strip_space import Space, free_space
from lugwright.layout.wishes_fit import keep_off

TRIES_OF_A_KIND = 12
MOST_S = 8.0  # of computing for a kind, whatever else the machine does
NEAREST = 3  # strips looked at, those nearest to the trouble first
MOVES_MM = (3.0, 6.0, 10.0)
MORE_LUGS = 2  # beyond the number that seems to be missing
GRID_MM = 8.0  # between the places tried for one more strip
USUAL_STRIP = "strip 9.5"
REACH_MM = 60.0  # of a new strip from the trouble
WORDS = {(1, 0): "to the right", (-1, 0): "to the left", (0, 1): "toward the front", (0, -1): "toward the rear"}


@dataclass(frozen=True)
class Remedy:
    """A change of the build file, in words, and the build with it."""

    words: str
    build: Build


class Trials:
    """Tries changes on the planner, and counts them. What has no room is no change, and is not counted."""

    def __init__(self, build: Build, joint_volts: Mapping[str, float], hardware: Hardware) -> None:
        self.build, self.joint_volts, self.hardware = build, joint_volts, hardware
        self.tried, self.left = 0, 0
        self._stop_s = 0.0
        self._before = {(f.rule, f.what) for f in check_places(build, hardware)}
        self._spaces: dict[tuple[Strip, ...], Space] = {}
        self._tight = {s.name for s in build.strips if not self._has_room(s, build, hardware)}

    def first(self, remedies: Iterable[Remedy]) -> Remedy | None:
        """Return the first change that makes a plan possible, None when none of a limited number does."""
        self.left, self._stop_s = TRIES_OF_A_KIND, time.process_time() + MOST_S
        return next((remedy for remedy in remedies if self.works(remedy)), None)

    def works(self, remedy: Remedy) -> bool:
        """Return whether a change makes a plan possible."""
        hardware = self.hardware if self.build.strips else hardware_for(remedy.build)
        if self.left <= 0 or time.process_time() > self._stop_s or not self._stands(remedy.build, hardware):
            return False
        self.tried += 1
        self.left -= 1
        return can_be_planned(remedy.build, self.joint_volts, hardware)

    def _stands(self, build: Build, hardware: Hardware) -> bool:
        """Return whether every changed strip has room, and nothing stands on anything else that did not before.

        A strip that the builder has put where it is tight may stay as tight.
        """
        changed = [strip for strip in build.strips if strip not in self.build.strips]
        if not all(s.name in self._tight or self._has_room(s, build, hardware) for s in changed):
            return False
        try:
            raise_if_outside(build, fixed_terminals(build, hardware))
        except PlanError:
            return False
        return {(f.rule, f.what) for f in check_places(build, hardware)} <= self._before

    def _has_room(self, strip: Strip, build: Build, hardware: Hardware) -> bool:
        """Return whether hand, iron and screw reach a strip among all the others."""
        others = tuple(other for other in build.strips if other is not strip)
        if others not in self._spaces:
            without = replace(build, strips=others)
            self._spaces[others] = free_space(without, hardware, fixed_terminals(without, hardware))
        pitch = {name: row.pitch_mm for name, row in hardware.strips.items()}
        return may_stand(strip, (), Rules(pitch, self._spaces[others], frozenset(), False, frozenset()))


def with_remedies(
    error: NoWholePlan, build: Build, *, joint_volts: Mapping[str, float], hardware: Hardware
) -> NoWholePlan:
    """Return the error with the smallest change of each kind that makes a plan possible, found by trying."""
    trials = Trials(build, joint_volts, hardware)
    found = [remedy for kind in (_longer, _moved, _one_more, _other_body) if (remedy := kind(trials, build, error))]
    changes = f"{trials.tried} change{'s' if trials.tried != 1 else ''} tried"
    do = f"{error.do} ({changes}, none of them enough)"
    if found:
        first = "do this, planned to be sure" if len(found) == 1 else "do one of these, each planned to be sure"
        do = f"{first}: {'; or '.join(remedy.words for remedy in found)} ({changes})"
    return NoWholePlan(
        what=error.what, found=error.found, wanted=error.wanted, do=do, parts=error.parts, joints=error.joints,
        lacks=error.lacks,
    )  # fmt: skip


def can_be_planned(build: Build, joint_volts: Mapping[str, float], hardware: Hardware) -> bool:
    """Return whether a short search seats every part and wires every joint whole."""
    terminals = fixed_terminals(build, hardware)
    if least_lugs(build, terminals, hardware) > sum(1 for t in terminals.values() if not t.joint and t.capacity):
        return False
    board = keep_off(build, make_board(build, hardware, terminals, joint_facts(build, joint_volts)))
    if any(not len(seats.first) for seats in board.seats) or int((board.joint_at == FREE).sum()) == 0:
        return False
    place = {t.key: index for index, t in enumerate(board.terminals)}
    number = {name: index for index, name in enumerate(board.joints)}
    chain = [*heater_chains(build, terminals), *charging_wires(build, terminals)]
    bench = Bench(board, [(number[w.joint], place[w.terminals[0]], place[w.terminals[1]]) for w in chain])
    fill(bench, range(len(board.parts)))
    repair(bench, rounds=1)
    return not bench.unplaced() and not bench.broken()


def _longer(trials: Trials, build: Build, error: NoWholePlan) -> Remedy | None:
    """Return strips with more lugs: one alone, or those that seem to lack some, and then as few as will do."""
    missing = max(1, sum(error.lacks.values()))
    nearest = [strip.name for strip in _nearest(build, error)]
    sets = [{name: missing + more} for more in (0, MORE_LUGS) for name in nearest]
    if len(error.lacks) > 1:
        sets[len(nearest) : len(nearest)] = [{n: k + more for n, k in error.lacks.items()} for more in (0, MORE_LUGS)]
    found = trials.first(_lengthened(build, more) for more in sets)
    if found is None:
        return None
    more = next(more for more in sets if _lengthened(build, more) == found)
    low, high = 0, max(more.values())  # low lugs more are too few, high are enough
    while high - low > 1:
        middle = (low + high) // 2
        fewer = _lengthened(build, {name: min(count, middle) for name, count in more.items()})
        low, high, found = (low, middle, fewer) if trials.works(fewer) else (middle, high, found)
    return found


def _lengthened(build: Build, more: Mapping[str, int]) -> Remedy:
    """Return the build with that many lugs more on some strips."""
    longer = {s.name: replace(s, lugs=s.lugs + more[s.name]) for s in build.strips if s.name in more}
    words = [
        f"strip {s.name}: lugs = {longer[s.name].lugs} in place of {s.lugs}" for s in build.strips if s.name in more
    ]
    return Remedy(" and ".join(words), replace(build, strips=tuple(longer.get(s.name, s) for s in build.strips)))


def _moved(trials: Trials, build: Build, error: NoWholePlan) -> Remedy | None:
    """Return the strip that has to move least, one strip alone."""
    return trials.first(
        _moved_by(build, strip, along * step, across * step, f"{step:g} mm {way}")
        for step in MOVES_MM
        for strip in _nearest(build, error)
        for (along, across), way in WORDS.items()
    )


def _moved_by(build: Build, strip: Strip, along_mm: float, across_mm: float, way: str) -> Remedy:
    at = (round(strip.at[0] + along_mm, 1), round(strip.at[1] + across_mm, 1))
    words = f"strip {strip.name} {way}: at = [{at[0]:g}, {at[1]:g}]"
    return Remedy(words, _with_strip(build, strip, replace(strip, at=at)))


def _one_more(trials: Trials, build: Build, error: NoWholePlan) -> Remedy | None:
    """Return one more strip where there is room, nearest to the trouble; with as few lugs as will do there."""
    lugs = max(3, sum(error.lacks.values()) + 2)
    found = trials.first(_one_more_at(build, lugs, *place) for place in _places(build, error))
    place = None if found is None else (*found.build.strips[-1].at, found.build.strips[-1].turn)
    while place is not None and lugs > 3 and trials.works(fewer := _one_more_at(build, lugs - 1, *place)):
        found, lugs = fewer, lugs - 1
    return found


def _places(build: Build, error: NoWholePlan) -> list[tuple[float, float, float]]:
    """Return x, y and turn of the places for a strip around the trouble, nearest first."""
    x, y = _trouble(build, error)
    steps = [k * GRID_MM for k in range(-int(REACH_MM // GRID_MM), int(REACH_MM // GRID_MM) + 1)]
    places = sorted(
        (abs(a) + abs(b), round(x + a), round(y + b), turn) for a in steps for b in steps for turn in (0, 90)
    )
    return [(float(at_x), float(at_y), float(turn)) for _, at_x, at_y, turn in places]


def _one_more_at(build: Build, lugs: int, x: float, y: float, turn: float) -> Remedy:
    taken = {strip.name for strip in build.strips}
    letters = [chr(code) for code in range(ord("A"), ord("Z") + 1)]
    name = next(name for name in (*letters, *(f"Z{k}" for k in range(1, len(taken) + 2))) if name not in taken)
    kind = build.strips[0].type if build.strips else USUAL_STRIP
    strip = Strip(name, lugs, ((lugs + 1) // 2,), (x, y), turn, kind)
    turned = f", turn = {turn:g}" if turn else ""
    words = f"one more strip: {name} = {{ lugs = {lugs}, foot = {strip.feet[0]}, at = [{x:g}, {y:g}]{turned} }}"
    return Remedy(words, replace(build, strips=(*build.strips, strip)))


def _other_body(trials: Trials, build: Build, error: NoWholePlan) -> Remedy | None:
    """Return another body of one of the parts in trouble."""
    return trials.first(
        Remedy(words, replace(build, parts=tuple(other if part.name == name else part for part in build.parts)))
        for name in error.parts
        for words, other in other_bodies(build.part(name))
    )


def _with_strip(build: Build, old: Strip, new: Strip) -> Build:
    return replace(build, strips=tuple(new if strip is old else strip for strip in build.strips))


def _nearest(build: Build, error: NoWholePlan) -> list[Strip]:
    x, y = _trouble(build, error)
    return sorted(build.strips, key=lambda s: (abs(s.at[0] - x) + abs(s.at[1] - y), s.name))[:NEAREST]


def _trouble(build: Build, error: NoWholePlan) -> tuple[float, float]:
    """Return where the parts and joints in trouble are wanted: the middle of the fixed terminals of their joints."""
    joints = {t.joint for name in error.parts for t in build.part(name).terminals} | set(error.joints)
    points = [t for t in fixed_terminals(build).values() if t.kind != "lug" and t.kind != "bus"]
    at = [t for t in points if t.joint in joints] or [t for t in points if t.kind == "pin"] or points
    return sum(t.x_mm for t in at) / len(at), sum(t.y_mm for t in at) / len(at)
