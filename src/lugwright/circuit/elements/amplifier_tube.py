"""Amplifying tube sections as circuit elements."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.catalogue.records import PentodeLaw, TriodeLaw


@dataclass(frozen=True)
class TriodeTube:
    """A triode section. ``on`` scales all its currents: 1 as published, 0 pulled or cold."""

    name: str
    plate: str
    grid: str
    cathode: str
    law: TriodeLaw
    on: float = 1.0

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.plate, self.grid, self.cathode)


@dataclass(frozen=True)
class PentodeTube:
    """A pentode or beam tetrode. ``on`` scales all its currents: 1 as published, 0 pulled or cold."""

    name: str
    plate: str
    screen: str
    grid: str
    cathode: str
    law: PentodeLaw
    on: float = 1.0

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.plate, self.screen, self.grid, self.cathode)
