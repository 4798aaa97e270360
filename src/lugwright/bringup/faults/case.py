"""What every kind of fault looks at: the build, its circuit and plan, joined, and the words for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from lugwright.bringup.faults.codes import Code, code_of
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.heat import HeaterNetwork
from lugwright.bringup.faults.neighbors import neighbors
from lugwright.bringup.faults.output_dangers import OutputDangers
from lugwright.bringup.faults.roles import roles_of
from lugwright.bringup.wired import Otherwise, Wired
from lugwright.buildfile.build import GROUND, Build, Capacitor, Part, Pot, Resistor
from lugwright.buildfile.part_words import short_unit, value_words
from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.elements import Resistor as ResistorElement
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Rewiring
from lugwright.layout.joint_classes import joint_classes
from lugwright.layout.results import Plan, PlanTerminal, Wire
from lugwright.workorder.in_words import lead_words, terminal_words

Values = TypeVar("Values")
Change = SetValue | ScaleValue
NEGATIVE_V = -10.0  # any volts that say "bias" to `joint_classes`


@dataclass(frozen=True, eq=False)
class FaultCase:
    """One build whose faults are looked for."""

    build: Build
    circuit: Circuit
    plan: Plan

    @cached_property
    def wired(self) -> Wired:
        """Return what hangs on which terminal."""
        return Wired(self.build, self.circuit, self.plan)

    @cached_property
    def classes(self) -> Mapping[str, str]:
        """Return what each joint carries; what an electrolytic with its plus on ground filters is negative."""
        negative = {
            part.terminal("2").joint: NEGATIVE_V
            for part, values in self.parts(Capacitor)
            if values.polar and part.terminal("1").joint == GROUND
        }
        return joint_classes(self.build, negative)

    @cached_property
    def roles(self) -> Mapping[str, str]:
        """Return what each part is there for."""
        return roles_of(self.build, self.classes)

    @cached_property
    def heaters(self) -> HeaterNetwork:
        """Return what feeds the heaters."""
        return HeaterNetwork.of(self.build, self.circuit, self.classes)

    @cached_property
    def outputs(self) -> OutputDangers:
        """Return what keeps the output tubes alive."""
        return OutputDangers.of(self.build, self.circuit, self.classes)

    @cached_property
    def resistors_at(self) -> Mapping[str, list[ResistorElement]]:
        """Return the resistors at every joint."""
        found: dict[str, list[ResistorElement]] = {}
        for element in self.circuit.elements:
            if isinstance(element, ResistorElement) and element.role == "part":
                for joint in dict.fromkeys(element.joints):
                    found.setdefault(joint, []).append(element)
        return found

    @cached_property
    def neighbors(self) -> Mapping[str, tuple[str, ...]]:
        """Return the lugs and pins beside each lug and pin."""
        return neighbors(self.plan)

    @cached_property
    def wires(self) -> Mapping[str, Wire]:
        """Return the wires by the names of their pieces."""
        return {f"W{wire.number}": wire for wire in self.plan.wires}

    def parts(self, kind: type[Values]) -> Iterator[tuple[Part, Values]]:
        """Yield the parts of a kind with their values."""
        for part in self.build.parts:
            if isinstance(part.values, kind):
                yield part, part.values

    def terminal(self, key: str) -> PlanTerminal:
        """Return a terminal of the plan."""
        return self.plan.terminals[key]

    def code(self, part: str, way: str) -> Code:
        """Return under which entry of the table of faults it comes when a part is so, and its danger."""
        return code_of(self.roles.get(part, ""), way)

    # ---- words -------------------------------------------------------------------------------

    @cached_property
    def _labels(self) -> dict[str, str]:
        return {}

    def label(self, key: str) -> str:
        """Return a terminal in words."""
        if key not in self._labels:
            self._labels[key] = terminal_words(self.build, self.plan, key)
        return self._labels[key]

    def wire_name(self, wire: Wire) -> str:
        """Return a wire by number, color and both ends: ``wire W17, red, from strip B lug 3 to V2 pin 1 (plate a)``."""
        one, other = (self.label(key) for key in wire.terminals)
        return f"{self._wire(wire)}{f', {wire.color}' if wire.color else ''}, from {one} to {other}"

    @staticmethod
    def _wire(wire: Wire) -> str:
        return f"{'lead' if wire.type == 'lead' else 'wire'} W{wire.number}"

    def part_name(self, part: str) -> str:
        """Return a part by designator and value: ``R3 (100 kΩ)``."""
        found = self.build.part(part)
        return f"{part} ({short_value(found)})"

    def piece_name(self, name: str) -> str:
        """Return a wire or a part's lead as it is called."""
        if name in self.wires:
            wire = self.wires[name]
            return f"{self._wire(wire)} ({wire.color})" if wire.color else self._wire(wire)
        part, _, lead = name.partition(".")
        if part not in self.build.part_by_name:
            return name
        words = lead_words(self.build.part(part), lead)
        return f"{f'lead {words}' if words.isdigit() else f'the {words} lead'} of {self.part_name(part)}"

    # ---- faults ------------------------------------------------------------------------------

    def fault(
        self, key: str, code: str, *, what: str, do: str, effect: Otherwise | None = None,
        changes: Iterable[Change] = (), odds: float = 1.0, part: str = "", wires: tuple[int, ...] = (),
        terminals: tuple[str, ...] = (), danger: str = "", shows: Iterable[str] = (), fitted: str = "",
    ) -> Fault:  # fmt: skip
        """Return a fault; what it does to heaters is found out, and what cold cathodes do to their tubes is added."""
        wiring, changes = effect.rewiring if effect else Rewiring(""), tuple(changes)
        warmth = self.heaters.under(Rewiring("", changes, wiring.moved, wiring.bridges))
        found = self.outputs.under(Rewiring("", changes, wiring.moved, wiring.bridges))
        rewiring = Rewiring(key, (*changes, *warmth.changes), wiring.moved, wiring.bridges)
        return Fault(
            key, code, what, do, odds, rewiring, part, wires, terminals, dict(effect.stands) if effect else {},
            danger or found.words, frozenset(shows) | warmth.shows | found.shows, fitted,
        )  # fmt: skip


def short_value(part: Part) -> str:
    """Return a part's value without its rating."""
    match part.values:
        case Resistor(ohm=ohm) | Pot(ohm=ohm):
            return short_unit(ohm, "Ω")
        case Capacitor(farad=farad):
            return short_unit(farad, "F")
        case _:
            return value_words(part.values)
