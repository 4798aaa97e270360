"""Whether a fault takes from an output tube what keeps it alive: its bias, its grid's hold, its plate's supply."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from lugwright.bringup.faults.codes import GRID_ADRIFT, GRID_RAISED, NO_BIAS, SCREEN_ALONE, TOO_HOT
from lugwright.bringup.faults.mesh import Branch, Mesh
from lugwright.bringup.fitting import output_tubes
from lugwright.buildfile.build import GROUND, Build
from lugwright.circuit.elements import Capacitor, Element, Junction, PentodeTube, Resistor, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Rewiring

PATH_OHM = 5e6  # a grid behind more than this is held by nothing
JUNCTION_OHM = 100.0  # of a diode in the bias supply: only whether it carries
TIE_S = 1e-10
GONE, WEAK = 0.6, 0.9  # share of the bias below which a tube runs away, and runs hot
LEAK_S = 1e-6  # from here a coupling capacitor pulls a grid up by many volts
HIGH = ("B+", "plate", "output plate", "screen")
HELD_IN = ("grid", "bias", "signal")  # classes of joints a grid's hold leads through
NO_CHANGE = Rewiring("")


class Danger(NamedTuple):
    """Why to switch off, and what the eye sees of it."""

    words: str
    shows: frozenset[str] = frozenset()


SAFE = Danger("")


@dataclass(frozen=True, eq=False)
class OutputDangers:
    """The output tubes of a build, and what holds their grids and feeds their plates."""

    tubes: tuple[PentodeTube, ...]
    holds: Mesh  # from the grids to ground, through the bias supply where there is one
    feeds: tuple[tuple[str, str, str], ...]  # coils between plates and B+: name, joint, joint
    supplies: frozenset[str]  # joints of B+
    planned: frozenset[str]  # every joint of the circuit
    high: frozenset[str]  # joints at plate or screen volts, or B+
    couplings: frozenset[str]  # capacitors from such a joint to one that holds a grid

    @staticmethod
    def of(build: Build, circuit: Circuit, classes: Mapping[str, str]) -> OutputDangers:
        """Return what is to be watched in a build."""
        names = {part.name for part in output_tubes(build)}
        tubes = tuple(e for e in circuit.elements if isinstance(e, PentodeTube) and e.name in names)
        holds = Mesh(tuple(_holds(circuit, classes, {t.grid for t in tubes})), PATH_OHM, TIE_S)
        plates = {t.plate for t in tubes}
        feeds = [
            (coil.name, coil.a, coil.b)
            for e in circuit.elements
            if isinstance(e, Windings) and {j for coil in e.coils for j in (coil.a, coil.b)} & plates
            for coil in e.coils
        ]
        supplies = frozenset(joint for joint, kind in classes.items() if kind == "B+")
        high = frozenset(joint for joint, kind in classes.items() if kind in HIGH)
        between = frozenset(
            e.name
            for e in circuit.elements
            if isinstance(e, Capacitor) and set(e.joints) & high and set(e.joints) & (holds.joints - {GROUND})
        )
        joints = frozenset(circuit.joints)
        return OutputDangers(tubes, holds, tuple(feeds), supplies, joints, high, between)

    def under(self, rewiring: Rewiring) -> Danger:
        """Return why to switch off under a rewiring, and what turns red; nothing where the tubes are fed and held."""
        moved = {(m.element, m.end): m.to for m in rewiring.moved}
        coils = {name for name, _, _ in self.feeds}
        mine = self.holds.touched(rewiring)
        if self.tubes and self._is_raised(rewiring):
            return Danger(GRID_RAISED, _red("plate", [tube.name for tube in self.tubes]))
        if self.tubes and (mine or any((tube.name, "grid") in moved for tube in self.tubes)):
            danger = self._bias(mine or NO_CHANGE, moved)
            if danger.words:
                return danger
        if any(element in coils for element, _ in moved) or any((tube.name, "plate") in moved for tube in self.tubes):
            starved = [tube.name for tube in self.tubes if not self._is_fed(tube, moved)]
            return Danger(SCREEN_ALONE, _red("screen", starved)) if starved else SAFE
        return SAFE

    def _is_raised(self, rewiring: Rewiring) -> bool:
        """Return whether what holds the grids meets high voltage: a lead, a bridge, a capacitor that leaks."""
        mine = self.holds.joints - {GROUND}
        return (
            any(m.element in self.holds.names and m.to in self.high for m in rewiring.moved)
            or any({b.a, b.b} & mine and {b.a, b.b} & self.high and b.ohm < PATH_OHM for b in rewiring.bridges)
            or any(
                c.element in self.couplings and c.field == "leak_s" and getattr(c, "value", 0.0) >= LEAK_S
                for c in rewiring.changes
            )
        )

    @cached_property
    def _good(self) -> Mapping[str, float]:
        return self.holds.levels(NO_CHANGE)

    def _bias(self, mine: Rewiring, moved: Mapping[tuple[str, str], str]) -> Danger:
        level = self.holds.levels(mine)
        adrift: list[str] = []
        gone: list[str] = []
        hot: list[str] = []
        for tube in self.tubes:
            grid = moved.get((tube.name, "grid"), tube.grid)
            if grid != tube.grid and grid in self.planned and grid not in level:
                continue  # on another joint of the circuit: whatever that does, it holds it
            if grid not in level or not self._is_held(mine, grid):
                adrift.append(tube.name)
                continue
            good = self._good[tube.grid] - self._good[GROUND]
            share = (level[grid] - level[GROUND]) / good if abs(good) > 1.0 else 1.0
            (gone if share < GONE else hot if share < WEAK else []).append(tube.name)
        words = GRID_ADRIFT if adrift else NO_BIAS if gone else TOO_HOT if hot else ""
        return Danger(words, _red("plate", [*adrift, *gone]))

    def _is_held(self, mine: Rewiring, grid: str) -> bool:
        """Return whether resistors lead from a grid to ground or to the bias supply."""
        ends = {(m.element, m.end): m.to for m in mine.moved}
        opened = {c.element for c in mine.changes if c.field == "ohm" and getattr(c, "value", 0.0) > PATH_OHM}
        links = [
            (ends.get((b.name, "a"), b.a), ends.get((b.name, "b"), b.b))
            for b in self.holds.branches
            if b.name not in opened
        ]
        return bool(_reached(grid, [*links, *((b.a, b.b) for b in mine.bridges)]) & {GROUND})

    def _is_fed(self, tube: PentodeTube, moved: Mapping[tuple[str, str], str]) -> bool:
        """Return whether coils lead from a plate to B+."""
        links = [(moved.get((name, "a"), a), moved.get((name, "b"), b)) for name, a, b in self.feeds]
        return bool(_reached(moved.get((tube.name, "plate"), tube.plate), links) & self.supplies)


def _red(what: str, tubes: list[str]) -> frozenset[str]:
    return frozenset(f"red {what} {tube}" for tube in tubes)


def _reached(start: str, links: list[tuple[str, str]]) -> set[str]:
    reached, edge = {start}, [start]
    while edge:
        here = edge.pop()
        for a, b in links:
            for near, far in ((a, b), (b, a)):
                if near == here and far not in reached:
                    reached.add(far)
                    edge.append(far)
    return reached


def _holds(circuit: Circuit, classes: Mapping[str, str], grids: set[str]) -> Iterator[Branch]:
    """Yield what leads from the grids to ground: resistors, and a bias supply's diode and winding."""
    reached, edge, met = set(grids), list(grids), set()
    while edge:
        here = edge.pop()
        for element in circuit.elements:
            for branch in _conducting(element):
                if here in (branch.a, branch.b) and branch.name not in met:
                    met.add(branch.name)
                    yield branch
                    for far in {branch.a, branch.b} - reached:
                        reached.add(far)
                        edge += [far] if classes.get(far) in HELD_IN else []


def _conducting(element: Element) -> Iterator[Branch]:
    match element:
        case Resistor(role="part" | "contact", ohm=ohm) if ohm < PATH_OHM:
            yield Branch(element.name, element.a, element.b, ohm)
        case Junction(zener_v=None):
            yield Branch(element.name, element.anode, element.cathode, JUNCTION_OHM)
        case Windings(coils=coils) if len(coils) > 1:
            yield from (Branch(coil.name, coil.a, coil.b, coil.ohm, coil.turns) for coil in coils)
        case _:
            pass
