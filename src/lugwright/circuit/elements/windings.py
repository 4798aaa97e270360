"""Coils on one core: chokes (one coil), power and output transformers (several, tapped)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Coil:
    """One section of winding between neighboring taps. ``turns`` are relative to the other coils."""

    name: str  # T1.hv.1-2
    a: str
    b: str
    turns: float
    ohm: float
    leakage_h: float = 0.0


@dataclass(frozen=True)
class Windings:
    """Coils on one core; ``magnetizing_h`` is seen from the first coil with all others open."""

    name: str
    coils: tuple[Coil, ...]
    magnetizing_h: float

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints its coils stand between."""
        return tuple(joint for coil in self.coils for joint in (coil.a, coil.b))
