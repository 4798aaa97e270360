"""Anything that obeys Ohm's law: resistors, pot halves, fuses, bonds, heaters, switch contacts, meters."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Resistor:
    """``ohm`` between two joints. ``role`` says what it stands for: part, heater, contact, meter, wire ...

    With ``lamp_w`` above zero it is a filament lamp of that power at ``lamp_v`` and ``ohm`` is not used:
    its resistance follows the RMS voltage across it.
    """

    name: str
    a: str
    b: str
    ohm: float
    role: str = "part"
    lamp_w: float = 0.0
    lamp_v: float = 0.0

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.a, self.b)
