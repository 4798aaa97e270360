"""What every rating rule looks at: the build, its idle, and its first seconds with cold tubes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeVar

from lugwright.buildfile.build import Build, Inlet, Part, Tube
from lugwright.circuit.elements import Junction, VacuumDiode
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle, Rating, TubeIdle
from lugwright.circuit.rules.dc_network import DcNetwork
from lugwright.findings import Finding, Grade

Checked = Rating | Finding
Values = TypeVar("Values")
Answer = TypeVar("Answer")

OFF_BELOW_A = 1e-6  # through an open contact
MAINS_HIGH = 1.1  # mains may stand 10 percent above nominal
_CONDUCTS_A = 1e-6  # mean current from which a rectifier counts as a path


@dataclass(frozen=True)
class Case:
    """One build to be judged. ``cold``: mains on, no amplifying tube conducts yet."""

    build: Build
    idle: Idle
    cold: Idle

    @cached_property
    def circuit(self) -> Circuit:
        """Return the circuit of the build."""
        return circuit_from_build(self.build)

    @cached_property
    def blocked_network(self) -> DcNetwork:
        """Return the resistances between the joints while every rectifier blocks."""
        return DcNetwork(self.circuit)

    @cached_property
    def network(self) -> DcNetwork:
        """Return the resistances between the joints, with the rectifiers that conduct at idle closed."""
        conducting = {
            e.name
            for e in self.circuit.elements
            if isinstance(e, Junction | VacuumDiode)
            and e.name in self.idle.parts
            and self.idle.parts[e.name].amps > _CONDUCTS_A
        }
        return DcNetwork(self.circuit, closed=frozenset(conducting))

    @property
    def is_off(self) -> bool:
        """Return whether the build stands on the mains, but takes nothing from it: its switch is open."""
        return self.idle.mains_rms_a < OFF_BELOW_A and any(True for _ in self.parts(Inlet))

    @property
    def states(self) -> tuple[tuple[str, Idle], ...]:
        """Return both states with the words they are called by."""
        return ("at idle", self.idle), ("with cold tubes", self.cold)

    def with_idle(self, idle: Idle) -> Case:
        """Return the same build with another idle; what depends on the build alone is not worked out again."""
        other = replace(self, idle=idle)
        other.__dict__.update(
            circuit=self.circuit, blocked_network=self.blocked_network, _of_kind=self._of_kind, _made_of=self._made_of,
            _once=self._once,
        )  # fmt: skip
        return other

    def parts(self, kind: type[Values]) -> Iterator[tuple[Part, Values]]:
        """Yield the parts of a kind with their values."""
        if kind not in self._of_kind:
            self._of_kind[kind] = [(part, part.values) for part in self.build.parts if isinstance(part.values, kind)]
        yield from self._of_kind[kind]

    def elements(self, part: Part, kind: type[Values]) -> Sequence[Values]:
        """Return the elements of a kind that a part is made of."""
        if kind not in self._made_of:
            found: dict[str, list[Values]] = defaultdict(list)
            for element in self.circuit.elements:
                if isinstance(element, kind):
                    found[element.name.split(".")[0]].append(element)
            self._made_of[kind] = found
        return self._made_of[kind].get(part.name, ())

    def of_build(self, question: Callable[[Case], Answer]) -> Answer:
        """Return what a function says of this case; it must look at the build and its circuit alone."""
        if question not in self._once:
            self._once[question] = question(self)
        answer: Answer = self._once[question]
        return answer

    @cached_property
    def _made_of(self) -> dict[type[Any], Mapping[str, Sequence[Any]]]:
        return {}

    @cached_property
    def _once(self) -> dict[Callable[[Case], Any], Any]:
        return {}

    @cached_property
    def _of_kind(self) -> dict[type[Any], list[tuple[Part, Any]]]:
        return {}

    def sections(self) -> Iterator[tuple[Part, Tube, str, TubeIdle]]:
        """Yield every amplifying section: part, values, section letter, idle."""
        for part, tube in self.parts(Tube):
            for section in tube.type.sections:
                found = self.idle.tubes.get(f"{part.name}{section.letter}")
                if found is not None:
                    yield part, tube, section.letter, found

    def finding(
        self, rule: str, grade: Grade, part: Part, *, what: str, found: str, wanted: str, do: str, source: str = ""
    ) -> Finding:
        """Return a finding at the part's place in the file."""
        return Finding(
            rule=rule, grade=grade, part=part.name, place=part.place, what=what, found=found, wanted=wanted, do=do,
            source=source,
        )  # fmt: skip
