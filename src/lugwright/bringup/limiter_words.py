"""How the limiter lamp should look, and what a variable transformer in its place is turned to."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.fitting import Stage
from lugwright.bringup.lamp_reading import looks_words
from lugwright.bringup.results import LampWindow
from lugwright.bringup.step_bench import AMMETER_SHARE, LAMP_BEND, Level, StepBench
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.operating import Idle

LEAST_SUPPLY_V = 10.0
LEAST_WINDING_V = 0.1  # less is what arithmetic leaves of a winding that nothing feeds
ON_THE_WAY = 1.0 / 3.0  # share of the mains at which a variable transformer is stopped for a first look


def lamp_window(level: Level, *, watts: float, mains_v: float) -> LampWindow | None:
    """Return what stands across the limiter lamp once it has settled; None without a lamp.

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
    LampWindow
        Volts, and those of good builds.

    Source
    ------
    The lamp's volts follow the current as its filament does.
    """
    rms_v = level.idle.lamp_rms_v
    if rms_v is None:
        return None
    low, high = (
        min(rms_v * (amps / level.idle.mains_rms_a) ** (1.0 / LAMP_BEND), mains_v) if amps > 0.0 else rms_v
        for amps in level.mains_window_a
    )
    return LampWindow(watts, mains_v, rms_v, low, high)


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
    found, share = lamp_window(level, watts=watts, mains_v=mains_v), level.idle.lamp_brightness
    if found is None or share is None:
        return ""
    across = f"about {found.expected_v:.0f} V ({found.low_v:.0f} to {found.high_v:.0f} V) across the {watts:.0f} W lamp"
    return f"a flash at switch-on, then {looks_words(share)}; {across}"


def instead_words(bench: StepBench, stage: Stage, level: Level) -> Iterator[str]:
    """Yield what a variable transformer is turned to in place of the lamp."""
    mains_v = bench.build.mains_v
    low, high = level.mains_window_a
    behind_v = mains_v * _left_by_lamp(level.idle, bench.level(stage.edit).idle)
    if stage.key == "no tubes":
        part_v = ON_THE_WAY * mains_v
        way = bench.idle_at(stage.edit + Edit("", (ScaleValue("mains", "rms_v", ON_THE_WAY),)))
        supply = next((j for j in sorted(way.joints) if j.startswith("B+") and way.joints[j].volts > 1.0), None)
        there = f" {supply} reads about {way.joints[supply].volts:.0f} V, and" if supply else ""
        most_a = way.mains_rms_a * (1.0 + bench.build.mains_spread + AMMETER_SHARE)
        yield f"At {part_v:.0f} V on its dial stop for a first look:{there} the current stays below {most_a:.2g} A."
    yield (
        f"Turned to {behind_v:.0f} V it stands in for the lamp: the readings below hold there too, at {low:.2g} to "
        f"{high:.2g} A. More current than that: turn back to zero, plug out."
    )


def _left_by_lamp(behind: Idle, full: Idle) -> float:
    """Return the share of everything that the lamp leaves: of B+ where there is some, else of the mains transformer.

    Their volts do not simply add up to the mains: with little load the current is a quarter of a cycle late.
    """
    supplies = [j for j in full.joints if j.startswith("B+") and full.joints[j].volts > LEAST_SUPPLY_V]
    if supplies:
        first = max(supplies, key=lambda j: full.joints[j].volts)
        return behind.joints[first].volts / full.joints[first].volts
    shares = [behind.windings[name].rms_v / w.rms_v for name, w in full.windings.items() if w.rms_v > LEAST_WINDING_V]
    return min(shares, default=1.0)
