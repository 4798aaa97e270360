"""Readings that fit no setting, as the command line that looks for the fault."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.bringup.idle.logged import IDLE_STEP
from lugwright.bringup.idle.readings import IdleReading
from lugwright.buildfile.build import GROUND


def trace_words(readings: Sequence[IdleReading], file: str) -> str:
    """Return the command; readings in volts go along by the joints the tips stood on."""
    volts = [reading for reading in readings if reading.unit == "V"]
    return " ".join([f'lugwright trace {file} --step "{IDLE_STEP}"', *(_option(reading) for reading in volts)])


def _option(reading: IdleReading) -> str:
    point = reading.red if reading.black == GROUND else f"{reading.red} to {reading.black}"
    return f'--reading "{point} = {reading.said.rpartition("=")[2].strip()}"'
