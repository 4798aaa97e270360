"""A measured tube as the builder keeps it: a line for the build file, and a small TOML file."""

from __future__ import annotations

import json

from lugwright.solve.results import SpecimenFit


def measured_words(fit: SpecimenFit) -> str:
    """Return the value of a tube in ``[tubes]``: its type and its own figures."""
    figures = ", ".join(f"{a.name} = {_number(a.name, a.value)}" for a in fit.adjustments)
    return f"{{ type = {json.dumps(fit.type)}, measured = {{ {figures} }} }}"


def measured_toml(fit: SpecimenFit) -> str:
    """Return a file to be kept with the tube; its figures may be copied into a build file."""
    point = fit.point
    screen = "" if point.screen_v is None else f"screen {point.screen_v:g} V, "
    lines = [
        f"# {_comment(fit.tube)}: {fit.type}, {len(fit.readings)} readings, {100.0 * fit.typical_off:.1f} % off (rms)",
        f"# at plate {point.plate_v:g} V, {screen}grid {point.grid_v:g} V: {1e3 * fit.plate_a:.2f} mA, "
        f"{1e3 * fit.transconductance_a_per_v:.2f} mA/V",
        f"type = {json.dumps(fit.type)}",
        "",
        "[measured]",
    ]
    lines += [f"{a.name} = {_number(a.name, a.value)}{_bounds(a.name, a.low, a.high)}" for a in fit.adjustments]
    return "\n".join(lines) + "\n"


def _number(name: str, value: float) -> str:
    text = f"{value:.3f}" if name == "shift_v" else f"{value:.4f}"
    return "0.0" if float(text) == 0 else text


def _bounds(name: str, low: float, high: float) -> str:
    return f"  # {_number(name, low)} to {_number(name, high)}"


def _comment(words: str) -> str:
    return " ".join(words.split())
