"""What a solver hands on besides operating values: waveforms of one mains cycle."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Waveform:
    """One joint over one mains cycle, from a rising zero crossing of the mains."""

    joint: str
    seconds: tuple[float, ...]
    volts: tuple[float, ...]
