"""Tubes of another type than planned, and tubes in each other's socket."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations

from lugwright.bringup.faults.case import Change, FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.tube_faults import Section, sections_of
from lugwright.buildfile.build import GROUND, Part, Tube
from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw, RectifierLaw, TriodeLaw, TubeType
from lugwright.circuit.edits import ScaleValue
from lugwright.circuit.elements import PentodeTube, TriodeTube
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a

# Types that are taken for each other: same pins, same look. From memory.
CONFUSED = (
    ("12AX7", "12AT7", "12AU7", "12AY7"),
    ("6SL7GT", "6SN7GT"),
    ("6L6GC", "EL34", "6V6GT", "6550"),
    ("GZ34", "5U4GB", "5Y3GT", "5V4G"),
    ("EZ81", "EZ80"),
)
SUPPLY_V, SCREEN_V = 280.0, 350.0  # assumed at the top of a stage's plate load, and at output tubes
FIXED_GRID_V = -25.0  # assumed at an output tube whose cathode has no resistor to speak of
SELF_BIAS_FROM_OHM = 22.0
BELOW_CATHODE = ("cathode resistor", "output cathode resistor", "sense resistor", "tail")
MOST_TIMES = 1e4  # where a type's current says nothing any more
STEPS = 30


@dataclass(frozen=True)
class Surroundings:
    """What a section works into: plate and cathode resistance as its own current meets them."""

    plate_ohm: float
    cathode_ohm: float
    bias_ohm: float  # the part of the cathode's that the grid is biased by


def wrong_tube(case: FaultCase) -> Iterator[Fault]:
    """Yield each socket with a tube of another type in it, and each two tubes of like bases exchanged.

    Another type is known to the circuit by its heater and by how many times the planned law draws its current where it
    would stand in this stage: right for direct volts, not for gain.
    """
    for part, tube in case.parts(Tube):
        for other in _taken_for(tube.type.name):
            changes = _as(case, part, tube, tube_type(other))
            yield case.fault(
                f"type {part.name} {other}", "F31" if isinstance(tube.type.law, RectifierLaw) else "F59",
                what=f"{'an' if other[0] in 'AE' else 'a'} {other} is in the socket of {part.name} ({tube.type.name})",
                do=f"read the glass; exchange it, or say that it is right: lugwright as-built FILE {part.name} "
                f"{tube.type.name}",
                changes=changes, part=part.name, fitted=part.name,
            )  # fmt: skip
    for (one, first), (two, second) in combinations(list(case.parts(Tube)), 2):
        if second.type.name in _taken_for(first.type.name):
            yield case.fault(
                f"exchanged {one.name} {two.name}", "F59",
                what=f"{one.name} ({first.type.name}) and {two.name} ({second.type.name}) are in each other's socket",
                do="read the glass; exchange them",
                changes=(*_as(case, one, first, second.type), *_as(case, two, second, first.type)),
                part=one.name, fitted=one.name,
            )  # fmt: skip


def _taken_for(name: str) -> tuple[str, ...]:
    return next((tuple(n for n in group if n != name) for group in CONFUSED if name in group), ())


def _as(case: FaultCase, part: Part, tube: Tube, other: TubeType) -> tuple[Change, ...]:
    """Return the changes that make a tube draw what one of another type would."""
    heater, wanted = tube.type.heater, other.heater
    ohms = (wanted.volts / wanted.amps) / (heater.volts / heater.amps)
    names = [e.name for e in case.circuit.elements if e.name.startswith(f"{part.name}.heater")]
    changes: list[Change] = [
        ScaleValue(section.name, "on", current_ratio(tube.type.name, other.name, _around(case, section)))
        for section in sections_of(case, part)
    ]
    return (*changes, *(ScaleValue(name, "ohm", ohms) for name in names if ohms != 1.0))


def _around(case: FaultCase, section: Section) -> Surroundings:
    """Return the resistances a section's own current meets: those it shares count once for each that shares them."""
    if not isinstance(section, TriodeTube | PentodeTube):
        return Surroundings(0.0, 0.0, 0.0)
    tubes = [e for e in case.circuit.elements if isinstance(e, TriodeTube | PentodeTube)]
    plate = _ohms_at(case, section.plate, "plate load") * sum(e.plate == section.plate for e in tubes)
    shared = sum(e.cathode == section.cathode for e in tubes)
    below = _below_cathode(case, section.cathode)
    total = max(below.values())
    bias = max((below[joint] for joint in _returns_to(case, section.grid) & below.keys()), default=total)
    return Surroundings(plate, shared * total, shared * bias)


def _ohms_at(case: FaultCase, joint: str, *roles: str) -> float:
    some = case.resistors_at.get(joint, ())
    siemens = sum(1.0 / r.ohm for r in some if case.roles.get(r.name) in roles)
    return 1.0 / siemens if siemens else 0.0


def _below_cathode(case: FaultCase, joint: str) -> dict[str, float]:
    """Return the joints below a cathode, down to ground, with the ohms to each."""
    found = {joint: 0.0}
    while joint != GROUND:
        some = [
            r
            for r in case.resistors_at.get(joint, ())
            if case.roles.get(r.name) in BELOW_CATHODE and not set(r.joints) <= found.keys()
        ]
        if not some:
            break
        far = next(j for j in some[0].joints if j != joint)
        found[far] = found[joint] + 1.0 / sum(1.0 / r.ohm for r in some)
        joint = far
    return found


def _returns_to(case: FaultCase, grid: str) -> set[str]:
    """Return where the grid leak goes."""
    leaks = (r for r in case.resistors_at.get(grid, ()) if case.roles.get(r.name) == "grid leak")
    return {joint for leak in leaks for joint in leak.joints}


@cache
def current_ratio(planned: str, other: str, around: Surroundings) -> float:
    """Return how many times the planned type's current the other type draws where the other would stand.

    Parameters
    ----------
    planned, other : str
        Two types of tubes. [-]
    around : Surroundings
        Resistance of plate load and cathode. [ohm]

    Returns
    -------
    float
        What the planned law has to be multiplied with. [-]

    Valid
    -----
    Direct current of stages with a plate resistor or transformer and cathode bias, or output tubes in fixed bias, at
    an assumed supply. The ratio moves little with the supply; amplification stays the planned type's.

    Source
    ------
    Derived below: the other type's own current on the load line and bias line of the stage, found by halving; then
    both laws at the volts it stands at.
    """
    mine, its = tube_type(planned).law, tube_type(other).law
    if isinstance(mine, RectifierLaw) and isinstance(its, RectifierLaw):
        return its.perveance / mine.perveance
    if mine is None or its is None:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(STEPS):
        amps = 0.5 * (low + high)
        low, high = (amps, high) if _current_a(its, amps, around) > amps else (low, amps)
    return min(max(low / max(_current_a(mine, low, around), 1e-12), 1.0 / MOST_TIMES), MOST_TIMES)


def _current_a(law: TriodeLaw | PentodeLaw | RectifierLaw, amps: float, around: Surroundings) -> float:
    """Return what a law draws where this current puts it. [A]"""
    numbers = {f: getattr(law, f) for f in law.__dataclass_fields__ if f != "grid_gain"}
    down_v = amps * around.cathode_ohm
    if isinstance(law, TriodeLaw):
        plate_v = max(SUPPLY_V - amps * around.plate_ohm - down_v, 0.0)
        return float(triode_plate_current_a(plate_v, -amps * around.bias_ohm, **numbers)[0])
    grid_v = -amps * around.bias_ohm if around.cathode_ohm > SELF_BIAS_FROM_OHM else FIXED_GRID_V
    screen_v = SCREEN_V - down_v
    return float(pentode_currents_a(screen_v - amps * around.plate_ohm, screen_v, grid_v, **numbers).plate_a)
