"""Anything that obeys Ohm's law: resistors, pot halves, fuses, bonds, heaters, switch contacts, meters."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Resistor:
    """``ohm`` between two joints. ``role`` says what it stands for: part, heater, contact, meter, wire ..."""

    name: str
    a: str
    b: str
    ohm: float
    role: str = "part"

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.a, self.b)
