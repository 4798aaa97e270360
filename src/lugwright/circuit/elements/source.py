"""Sources: the mains, a meter's own battery, and test currents."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class VoltageSource:
    """``dc_v`` plus a sine of ``rms_v`` at mains frequency behind ``ohm``, from ``b`` (minus) to ``a`` (plus)."""

    name: str
    a: str
    b: str
    dc_v: float
    rms_v: float
    ohm: float

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.a, self.b)


@dataclass(frozen=True)
class CurrentSource:
    """``amps`` driven out of ``a`` into ``b`` through the source, that is into joint ``b``."""

    name: str
    a: str
    b: str
    amps: float

    @property
    def joints(self) -> tuple[str, ...]:
        """Return the joints it stands between."""
        return (self.a, self.b)
