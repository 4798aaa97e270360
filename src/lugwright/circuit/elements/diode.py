"""Rectifying elements: semiconductor junctions (silicon diodes, Zeners) and plates of vacuum rectifiers."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Junction:
    """A silicon junction from ``anode`` to ``cathode``; a Zener also conducts backward at ``zener_v``.

    Forward: a threshold and a bulk resistance, joined smoothly over ``smooth_v``.
    """

    name: str
    anode: str
    cathode: str
    threshold_v: float = 0.75
    bulk_ohm: float = 0.25
    zener_v: float | None = None
    smooth_v: float = 0.04
    leak_s: float = 1e-9
    on: float = 1.0

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.anode, self.cathode)


@dataclass(frozen=True)
class VacuumDiode:
    """One plate of a vacuum rectifier: I = on * perveance * V**1.5 from plate to cathode. ``on`` 0: pulled."""

    name: str
    anode: str
    cathode: str
    perveance: float
    on: float = 1.0

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.anode, self.cathode)
