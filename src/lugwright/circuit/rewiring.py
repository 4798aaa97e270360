"""A circuit wired otherwise than planned: ends of elements on other joints, bridges, values; all in one record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from lugwright.circuit.edits import Edit, ScaleValue, SetValue
from lugwright.circuit.elements import Element, Resistor, Windings
from lugwright.circuit.network import Circuit
from lugwright.errors import CircuitError

BRIDGE = "bridge"


@dataclass(frozen=True)
class Moved:
    """One end of an element (of one coil, by the coil's name) stands on another joint, or on a new one."""

    element: str  # "R3", "V1a", "T1.hv.1-2"
    end: str  # its field: a, b, plate, screen, grid, cathode, anode
    to: str  # a joint of the circuit, or a new name for a joint that this wiring makes


@dataclass(frozen=True)
class Bridge:
    """A resistance between two joints that the circuit does not have: a solder bridge, a leak."""

    a: str
    b: str
    ohm: float


@dataclass(frozen=True)
class Rewiring:
    """What is otherwise. Without anything in it, the circuit as planned."""

    name: str
    changes: tuple[SetValue | ScaleValue, ...] = ()
    moved: tuple[Moved, ...] = ()
    bridges: tuple[Bridge, ...] = ()

    @property
    def edit(self) -> Edit:
        """Return its changes of values alone."""
        return Edit(self.name, self.changes)

    def __add__(self, other: Rewiring) -> Rewiring:
        """Return both at once; where both move the same end, the other's move counts."""
        theirs = {(m.element, m.end) for m in other.moved}
        mine = tuple(m for m in self.moved if (m.element, m.end) not in theirs)
        return Rewiring(
            f"{self.name}, and {other.name}" if self.name and other.name else self.name or other.name,
            (*self.changes, *other.changes),
            (*mine, *other.moved),
            (*self.bridges, *other.bridges),
        )


def rewired(circuit: Circuit, rewiring: Rewiring) -> Circuit:
    """Return the circuit with ends moved and bridges in; its changes of values are left to `Rewiring.edit`.

    Raises
    ------
    CircuitError
        It moves an end that no element has.
    """
    wanted: dict[str, dict[str, str]] = {}
    for moved in rewiring.moved:
        wanted.setdefault(moved.element, {})[moved.end] = moved.to
    elements = tuple(_with_ends(element, wanted) for element in circuit.elements)
    if wanted:
        name, ends = next(iter(wanted.items()))
        raise CircuitError(
            what=f"wiring {rewiring.name!r} does not fit the circuit",
            found=f"{name}.{next(iter(ends))}",
            wanted="an element of the circuit and one of its ends",
            do="check the part's name",
        )
    bridges = tuple(Resistor(f"{BRIDGE}.{k}", b.a, b.b, b.ohm, BRIDGE) for k, b in enumerate(rewiring.bridges))
    return Circuit((*elements, *bridges), circuit.ground, circuit.mains_hz)


def _with_ends(element: Element, wanted: dict[str, dict[str, str]]) -> Element:
    """Return the element with its ends where they are wanted, and take what is met off the list."""
    if isinstance(element, Windings):
        coils = tuple(_moved(coil, wanted) for coil in element.coils)
        return element if coils == element.coils else replace(element, coils=coils)
    moved: Element = _moved(element, wanted)
    return moved


def _moved(owner: Any, wanted: dict[str, dict[str, str]]) -> Any:
    ends = wanted.get(owner.name)
    if ends is None:
        return owner
    known = {f.name for f in fields(owner)}
    met: Mapping[str, str] = {end: to for end, to in ends.items() if end in known and end in ENDS}
    left = {end: to for end, to in ends.items() if end not in met}
    if left:
        wanted[owner.name] = left
    else:
        del wanted[owner.name]
    return replace(owner, **met) if met else owner


ENDS = frozenset({"a", "b", "plate", "screen", "grid", "cathode", "anode"})


def ends_of(elements: Iterable[Element]) -> Iterable[tuple[str, str, str]]:
    """Yield (element or coil, end, joint) for every end of the elements."""
    for element in elements:
        for owner in element.coils if isinstance(element, Windings) else (element,):
            for field in fields(owner):
                if field.name in ENDS:
                    yield owner.name, field.name, getattr(owner, field.name)
