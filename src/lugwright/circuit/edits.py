"""Edits: a circuit changed in one way. A step, a tolerance draw, a fault and a what-if are all edits.

An edit changes values on the circuit's own elements, so that thousands of edited circuits share one
pattern. Anything that adds a path (a meter, a bridge between lugs, a limiter lamp) is first put into the
circuit as an element that carries nothing, and the edit gives it its value.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SetValue:
    """Set one field of one element: ``SetValue("R3", "ohm", 1e5)``."""

    element: str
    field: str
    value: float


@dataclass(frozen=True)
class ScaleValue:
    """Multiply one field of one element."""

    element: str
    field: str
    factor: float


@dataclass(frozen=True)
class Edit:
    """A named handful of changes."""

    name: str
    changes: tuple[SetValue | ScaleValue, ...] = ()

    def __add__(self, other: Edit) -> Edit:
        """Return both, the other's changes last."""
        return Edit(f"{self.name}, {other.name}" if self.name else other.name, (*self.changes, *other.changes))


OPEN_OHM, SHORT_OHM = 1e12, 0.1


def pulled(tube: str, elements: tuple[str, ...]) -> Edit:
    """Return the edit that takes a tube out of its socket (or leaves it cold): no section conducts."""
    return Edit(f"{tube} out", tuple(SetValue(name, "on", 0.0) for name in elements))


def opened(element: str) -> Edit:
    """Return the edit that opens a resistor, bond, contact or wire."""
    return Edit(f"{element} open", (SetValue(element, "ohm", OPEN_OHM),))


def shorted(element: str) -> Edit:
    """Return the edit that shorts a resistor, bond or contact."""
    return Edit(f"{element} shorted", (SetValue(element, "ohm", SHORT_OHM),))
