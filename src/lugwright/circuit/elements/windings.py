"""Coils on one core: chokes (one coil), power and output transformers (several, tapped)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Coil:
    """One section of winding between neighboring taps. ``turns`` are relative to the other coils.

    ``allowed_a`` is what the build file allows its winding, None where it does not say.
    """

    name: str  # T1.hv.1-2
    a: str
    b: str
    turns: float
    ohm: float
    leakage_h: float = 0.0
    allowed_a: float | None = None


@dataclass(frozen=True)
class Windings:
    """Coils on one core; ``magnetizing_h`` is seen from the first coil with all others open.

    A swinging choke has that inductance at ``rated_a`` of direct current, and ``light_h`` without any.
    """

    name: str
    coils: tuple[Coil, ...]
    magnetizing_h: float
    light_h: float = 0.0  # 0: does not swing
    rated_a: float = 0.0

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints its coils stand between."""
        return tuple(joint for coil in self.coils for joint in (coil.a, coil.b))
