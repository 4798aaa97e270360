"""Which wires are shielded, where their braid is soldered, and how much jacket comes off.

A braid is soldered at one end alone, to ground: there it keeps electric fields off the core. Soldered at both ends it
would close a loop that every magnetic field of the chassis drives current around.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lugwright.buildfile.build import GROUND, Build, Jack, Tank
from lugwright.layout.results import PlanTerminal, SeatedPart, Wire

# Our own: as long as a grid wire may be. At 10 mm beside a twisted heater pair 60 mm of wire on a megohm picks up some
# 20 uV, a hundredth of what a quiet player sends; beyond that the braid is worth its 6 pF and the work at its ends.
SHIELD_FROM_MM = 60.0
BRAID_REACH_MM = 25.0  # from the end of the core to the lug of the braid: bare wire any longer sags and touches
BRAID_MOST_MM = 45.0  # where the builder asks for a shield, a sleeved tail may be so long
CORE_MM = 10.0  # insulated core between jacket and lug, so that the iron does not melt through to the braid
NEVER = ("mains", "earth", "heater", "ground", "speaker")  # amps, or nothing to keep off them
GROUND_KINDS = ("jack", "pot", "panel", "lug", "bus", "can", "pin")


@dataclass(frozen=True)
class Run:
    """A wire that could be shielded."""

    joint: str
    terminals: tuple[str, str]
    name: str  # its class
    length_mm: float


def quiet_joints(build: Build) -> frozenset[str]:
    """Return the joints with the least signal: at the tip of an input jack, and where reverb springs come back."""
    inputs = {name for stage in build.stages if stage.duty == "input" for name in stage.parts}
    found = set()
    for part in build.parts:
        if isinstance(part.values, Jack) and part.name in inputs:
            found.add(part.terminal("tip").joint)
        elif isinstance(part.values, Tank):
            found.add(part.terminal("out").joint)
    return frozenset(joint for joint in found if joint and joint != GROUND)


def braids(
    build: Build,
    terminals: Mapping[str, PlanTerminal],
    seats: Iterable[SeatedPart],
    links: Iterable[tuple[str, ...]],
    runs: Sequence[Run],
) -> dict[tuple[str, str], str]:
    """Return the terminal of the braid for every wire that is shielded, by the two terminals of the wire.

    ``links`` are the terminals of all wires and of braids that are there: no lug takes more leads than it has room for.
    """
    load = Counter(key for pair in [*(s.terminals for s in seats), *links] for key in pair)
    quiet, asked = quiet_joints(build), build.wishes.shield
    found: dict[tuple[str, str], str] = {}
    for run in sorted(runs, key=lambda r: (not asked.get(r.joint), r.joint not in quiet, -r.length_mm, r.terminals)):
        if run.name in NEVER or not asked.get(run.joint, _wants(run, quiet)):
            continue
        reach = BRAID_MOST_MM if asked.get(run.joint) else BRAID_REACH_MM
        key = _ground_near(terminals, load, run, reach)
        if key:
            found[run.terminals] = key
            load[key] += 1
    return found


def _wants(run: Run, quiet: frozenset[str]) -> bool:
    return (run.name == "grid" or run.joint in quiet) and run.length_mm > SHIELD_FROM_MM


def _ground_near(terminals: Mapping[str, PlanTerminal], load: Counter[str], run: Run, reach_mm: float) -> str:
    """Return the ground terminal for a braid: on the jack itself, else the nearest with room; "" for none."""
    ends = [terminals[key] for key in run.terminals]
    best: tuple[bool, bool, float, str] | None = None
    for t in terminals.values():
        if t.joint != GROUND or t.kind not in GROUND_KINDS or load[t.key] >= t.capacity:
            continue
        apart = min(apart_mm(t, end) for end in ends)
        if apart <= reach_mm:
            own = any(t.owner == end.owner and end.kind == "jack" for end in ends)
            choice = (not own, not t.key.endswith(".sleeve"), apart, t.key)
            best = choice if best is None or choice < best else best
    return best[3] if best else ""


def apart_mm(a: PlanTerminal, b: PlanTerminal) -> float:
    """Return the straight distance between two terminals.

    Parameters
    ----------
    a, b : PlanTerminal
        The two.

    Returns
    -------
    float
        Through the air. [mm]

    Source
    ------
    Space geometry.
    """
    return math.dist((a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm))


def jackets_mm(
    *, to_braid_mm: tuple[float, float], strip_mm: tuple[float, float], braid_strip_mm: float
) -> tuple[float, float]:
    """Return how much jacket to take off at each end of a shielded wire.

    Parameters
    ----------
    to_braid_mm : (float, float)
        From each end's terminal to the terminal of the braid; the braid is soldered at the nearer end. [mm]
    strip_mm : (float, float)
        Insulation to take off the core at each end. [mm]
    braid_strip_mm : float
        Bare end that the braid's terminal takes. [mm]

    Returns
    -------
    (float, float)
        Jacket off at each end, whole millimeters. [mm]

    Source
    ------
    Derived below: at both ends 10 mm of insulated core stand between jacket and lug. At the end of the braid its tail
    has to reach from the jacket past the core's lug to its own, at most 10 mm and the distance of the two lugs.
    """
    near = 0 if to_braid_mm[0] <= to_braid_mm[1] else 1
    plain = [math.ceil(CORE_MM + strip) for strip in strip_mm]
    plain[near] = max(plain[near], math.ceil(CORE_MM + to_braid_mm[near] + braid_strip_mm))
    return float(plain[0]), float(plain[1])


def tail_mm(wire: Wire) -> float:
    """Return what a shielded wire is cut longer for the tail of its braid; the core is then cut back by as much.

    Parameters
    ----------
    wire : Wire
        A wire with its jacket lengths.

    Returns
    -------
    float
        Extra length, 0 for a wire without shield. [mm]

    Source
    ------
    Derived below: what the jacket comes off beyond 10 mm of insulated core and the bare end.
    """
    if not wire.shield:
        return 0.0
    return sum(max(0.0, jacket - CORE_MM - strip) for jacket, strip in zip(wire.jacket_mm, wire.strip_mm, strict=True))
