"""Capacitors, with the leakage that keeps every joint defined when they have settled."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Capacitor:
    """``farad`` between two joints (a positive for a polar one) with a leak beside it."""

    name: str
    a: str
    b: str
    farad: float
    leak_s: float = 1e-12

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.a, self.b)
