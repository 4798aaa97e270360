"""How the limiter lamp should look, and what a variable transformer in its place is turned to."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.fitting import Stage
from lugwright.bringup.step_bench import Level, StepBench
from lugwright.circuit.edits import Edit, ScaleValue

LAMP_BEND = 0.55  # a filament's amperes follow its volts to this power, from memory
ON_THE_WAY = 1.0 / 3.0  # share of the mains at which a variable transformer is stopped for a first look
_LOOKS = ((0.02, "dark"), (0.1, "a dull red glow"), (0.35, "a dim orange glow"), (0.7, "clearly lit"))


def looks_words(share: float) -> str:
    """Return how a filament looks at a share of its rated power, from memory of such lamps."""
    return next((text for limit, text in _LOOKS if share < limit), "full brightness")


def lamp_words(level: Level, *, watts: float, mains_v: float) -> str:
    """Return how bright the limiter lamp should settle, and how far from that a good build may be.

    Parameters
    ----------
    level : Level
        The step solved with its lamp.
    watts : float
        The lamp's rated power. [W]
    mains_v : float
        What stands across it at the most. [V]

    Returns
    -------
    str
        A sentence part; empty without a lamp.

    Source
    ------
    The lamp's volts follow the current as its filament does; how it looks, from memory.
    """
    rms_v, share = level.idle.lamp_rms_v, level.idle.lamp_brightness
    if rms_v is None or share is None:
        return ""
    low, high = (
        min(rms_v * (amps / level.idle.mains_rms_a) ** (1.0 / LAMP_BEND), mains_v) if amps > 0.0 else rms_v
        for amps in level.mains_window_a
    )
    window = f" ({low:.0f} to {high:.0f} V)"
    return f"a flash at switch-on, then {looks_words(share)}; about {rms_v:.0f} V{window} across the {watts:.0f} W lamp"


def instead_words(bench: StepBench, stage: Stage, level: Level) -> Iterator[str]:
    """Yield what a variable transformer is turned to in place of the lamp."""
    mains_v, lamp_v = bench.build.mains_v, level.idle.lamp_rms_v
    if lamp_v is None:
        return
    low, high = level.mains_window_a
    behind_v = mains_v - lamp_v
    if stage.key == "no tubes":
        part_v = ON_THE_WAY * mains_v
        way = bench.level(stage.edit + Edit("", (ScaleValue("mains", "rms_v", ON_THE_WAY),)))
        supply = next((j for j in sorted(way.idle.joints) if j.startswith("B+")), None)
        there = f" {supply} reads about {way.idle.joints[supply].volts:.0f} V," if supply else ""
        yield (
            f"At {part_v:.0f} V on its dial stop for a first look:{there} and the current stays below "
            f"{way.mains_window_a[1]:.2g} A."
        )
    yield (
        f"Turned to {behind_v:.0f} V it stands in for the lamp: the readings below hold there too, at {low:.2g} to "
        f"{high:.2g} A. More current than that: turn back to zero, plug out."
    )
