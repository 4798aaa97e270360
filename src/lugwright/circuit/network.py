"""The circuit: a frozen list of elements between joints.

An element is a frozen record in ``circuit/elements``; it names the joints it stands between and its
values. Nothing here knows how elements are solved.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from lugwright.circuit.elements import Element


@dataclass(frozen=True)
class Circuit:
    """Elements between joints; ``ground`` is the joint all voltages are measured against."""

    elements: tuple[Element, ...]
    ground: str = "ground"
    mains_hz: float = 60.0

    @cached_property
    def by_name(self) -> Mapping[str, Element]:
        """Return the elements by name."""
        return {element.name: element for element in self.elements}

    @cached_property
    def joints(self) -> tuple[str, ...]:
        """Return every joint once, in the order the elements name them."""
        return tuple(dict.fromkeys(joint for element in self.elements for joint in element.joints))

    def with_elements(self, extra: Iterable[Element]) -> Circuit:
        """Return a circuit with more elements."""
        return Circuit((*self.elements, *extra), self.ground, self.mains_hz)
