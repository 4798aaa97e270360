"""The controls that set the bias of the output tubes, and the edits that turn them."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import GROUND, Build, Part, Pot
from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.operating import Idle
from lugwright.circuit.pot_taper import pot_halves_ohm

NEGATIVE_SUPPLY_BELOW_V = -2.0


def bias_controls(build: Build, idle: Idle) -> Iterator[Part]:
    """Yield every pot that stands at a negative supply."""
    for part in build.parts:
        if isinstance(part.values, Pot):
            joints = {t.joint for t in part.terminals} - {GROUND}
            if any(idle.joints[j].volts < NEGATIVE_SUPPLY_BELOW_V for j in joints if j in idle.joints):
                yield part


def turned(part: Part, *, rotation: float) -> Edit:
    """Return the edit that turns a pot to a share of its rotation."""
    if not isinstance(part.values, Pot):
        raise TypeError(f"{part.name} is a {part.kind}, not a pot")
    low, high = pot_halves_ohm(ohm=part.values.ohm, taper=part.values.taper, rotation=rotation)
    changes = (SetValue(f"{part.name}.1-2", "ohm", low), SetValue(f"{part.name}.2-3", "ohm", high))
    return Edit(f"{part.name} at {rotation:.0%}", changes)


def all_turned(parts: tuple[Part, ...], *, rotation: float) -> Edit:
    """Return the edit that turns several pots to the same share of their rotation."""
    changes = tuple(change for part in parts for change in turned(part, rotation=rotation).changes)
    return Edit(f"bias at {rotation:.0%}", changes)


def control_words(part: Part) -> str:
    """Return a control as it is named on the chart: designator and label."""
    label = part.values.label if isinstance(part.values, Pot) else ""
    return f"{part.name} {label}".strip()
