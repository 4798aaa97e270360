"""Tubes that are dead, weak, gassy, leaky or noisy, left out, or of another type than planned."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations

from lugwright.bringup.faults.case import Change, FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.fitting import output_tubes, socket_elements
from lugwright.bringup.wired import Otherwise
from lugwright.buildfile.build import Part, Tube
from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw, RectifierLaw, TriodeLaw, TubeType
from lugwright.circuit.edits import OPEN_OHM, ScaleValue, SetValue
from lugwright.circuit.elements import PentodeTube, TriodeTube, VacuumDiode
from lugwright.circuit.rewiring import Bridge, Rewiring
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a

# All from memory of tubes on the bench.
WEAK = 0.6  # share of its current that a tube at the end of its life gives
STRONG = 1.35  # an output tube far off its neighbor
GAS_OHM = 100e6  # a few microamperes from plate to grid at 300 V; through ions, so it goes with the plate's volts
HEATER_LEAK_OHM = 100e3
CONTACT_OHM = 100.0  # a flake between grid and cathode
MOST_TIMES = 8.0  # where the ratio of two types' currents says nothing any more
AT_TRIODE, AT_PENTODE = (200.0, -1.5), (300.0, 300.0, -20.0)  # volts at which two types are compared
# Types that are taken for each other: same pins, same look.
CONFUSED = (
    ("12AX7", "12AT7", "12AU7", "12AY7"),
    ("6SL7GT", "6SN7GT"),
    ("6L6GC", "EL34", "6V6GT", "6550"),
    ("GZ34", "5U4GB", "5Y3GT", "5V4G"),
    ("EZ81", "EZ80"),
)
SWAP = "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube"
RUNS_AWAY = "its grid current pulls its bias up: it runs hotter and hotter"
Section = TriodeTube | PentodeTube | VacuumDiode


def tube_faults(case: FaultCase) -> Iterator[Fault]:
    """Yield what goes wrong inside each tube."""
    outputs = {part.name for part in output_tubes(case.build)}
    for part, tube in case.parts(Tube):
        sections = sections_of(case, part)
        for section in sections:
            yield from _emission(case, part, tube, section)
            if not isinstance(section, VacuumDiode):
                yield from _leaks(case, part, section, output=part.name in outputs)
        if part.name in outputs and len(outputs) > 1:
            strong = (ScaleValue(part.name, "on", STRONG),)
            what = f"{part.name} draws far more than its neighbor"
            yield _own(case, f"strong {part.name}", "F87", what, part, strong)
        if not isinstance(tube.type.law, RectifierLaw):
            yield case.fault(
                f"microphonic {part.name}", "F61", what=f"{part.name} rings when it is tapped", do=SWAP, part=part.name,
                fitted=part.name, shows=(f"rings {part.name}",),
            )  # fmt: skip
        yield _left_out(case, part, sections)


def sections_of(case: FaultCase, part: Part) -> list[Section]:
    """Return the elements that carry a tube's currents."""
    tube = part.values
    letters = [s.letter for s in tube.type.sections] if isinstance(tube, Tube) else []
    names = {part.name, *(f"{part.name}{letter}" for letter in letters)}
    return [e for e in case.circuit.elements if isinstance(e, Section) and e.name.split(".")[0] in names]


def _own(
    case: FaultCase, key: str, code: str, what: str, part: Part, changes: tuple[Change, ...] = (),
    bridge: Bridge | None = None, danger: str = "", shows: tuple[str, ...] = (),
) -> Fault:  # fmt: skip
    effect = Otherwise(Rewiring("", bridges=(bridge,))) if bridge else None
    return case.fault(
        key, code, what=what, do=SWAP, changes=changes, effect=effect, part=part.name, danger=danger, shows=shows,
        fitted=part.name,
    )  # fmt: skip


def _emission(case: FaultCase, part: Part, tube: Tube, section: Section) -> Iterator[Fault]:
    name = section.name.replace(".", " ")
    duty = next((stage.duty for stage in case.build.stages if _is_in(case, stage.parts, section)), "")
    half = duty == "inverter" and len(tube.type.sections) == 2
    dead = (SetValue(section.name, "on", 0.0),)
    yield _own(case, f"dead {section.name}", "F88" if half else "F60", f"{name} is dead", part, dead)
    weak = (ScaleValue(section.name, "on", WEAK),)
    yield _own(case, f"weak {section.name}", "F60", f"{name} is weak: about {WEAK:.0%} of its current", part, weak)


def _is_in(case: FaultCase, parts: tuple[str, ...], section: Section) -> bool:
    """Return whether a stage's resistors stand at a section's plate: tubes are written outside the stages."""
    plate = getattr(section, "plate", "")
    return any(t.joint == plate for name in parts for t in case.build.part(name).terminals) if plate else False


def _leaks(case: FaultCase, part: Part, section: TriodeTube | PentodeTube, *, output: bool) -> Iterator[Fault]:
    name = section.name
    gas, contact = Bridge(section.grid, section.plate, GAS_OHM), Bridge(section.cathode, section.grid, CONTACT_OHM)
    danger = RUNS_AWAY if output else ""
    what = f"{name} is gassy: its grid draws current"
    yield _own(case, f"gassy {name}", "F60", what, part, bridge=gas, danger=danger)
    what = f"grid and cathode of {name} touch inside"
    yield _own(case, f"contact {name}", "F60", what, part, bridge=contact, danger=danger)
    heaters = (f"{part.name}.heater", f"{part.name}.heater1-tap")
    heater = next((case.circuit.by_name[h] for h in heaters if h in case.circuit.by_name), None)
    if heater is not None and section.cathode != heater.joints[0]:
        leak = Bridge(heater.joints[0], section.cathode, HEATER_LEAK_OHM)
        what = f"{name} leaks from heater to cathode"
        yield _own(case, f"heater leak {name}", "F60", what, part, bridge=leak, shows=("hum",))


def _left_out(case: FaultCase, part: Part, sections: list[Section]) -> Fault:
    heaters = socket_elements(case.circuit, part.name)
    changes: list[Change] = [SetValue(section.name, "on", 0.0) for section in sections]
    changes += [SetValue(name, "ohm", OPEN_OHM) for name in heaters]
    return case.fault(
        f"left out {part.name}", "F28", what=f"{part.name} is not in its socket, or sits askew in it",
        do="push it home, straight", changes=changes, part=part.name, fitted=part.name,
    )  # fmt: skip


def wrong_tube(case: FaultCase) -> Iterator[Fault]:
    """Yield each socket with a tube of another type in it, and each two tubes of like bases exchanged.

    Another type is known to the circuit by how much more current it draws than the planned one at the same volts, and
    by its heater: near enough to be found by, not to be designed with.
    """
    for part, tube in case.parts(Tube):
        for other in _taken_for(tube.type.name):
            changes = _as(case, part, tube, tube_type(other))
            yield case.fault(
                f"type {part.name} {other}", "F31" if isinstance(tube.type.law, RectifierLaw) else "F59",
                what=f"a {other} is in the socket of {part.name} ({tube.type.name})", do="read the glass; exchange it",
                changes=changes, part=part.name, fitted=part.name,
            )  # fmt: skip
    yield from _in_each_others_socket(case)


def _in_each_others_socket(case: FaultCase) -> Iterator[Fault]:
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
    """Return the changes that make a tube draw about what one of another type would."""
    times = _current_ratio(tube.type.name, other.name)
    heater, wanted = tube.type.heater, other.heater
    ohms = (wanted.volts / wanted.amps) / (heater.volts / heater.amps)
    names = [e.name for e in case.circuit.elements if e.name.startswith(f"{part.name}.heater")]
    changes: list[Change] = [ScaleValue(section.name, "on", times) for section in sections_of(case, part)]
    return (*changes, *(ScaleValue(name, "ohm", ohms) for name in names if ohms != 1.0))


@cache
def _current_ratio(planned: str, other: str) -> float:
    mine, its = _current_a(tube_type(planned)), _current_a(tube_type(other))
    return min(max(its / mine, 1.0 / MOST_TIMES), MOST_TIMES)


def _current_a(kind: TubeType) -> float:
    law = kind.law
    if isinstance(law, RectifierLaw):
        return law.perveance
    numbers = {} if law is None else {f: getattr(law, f) for f in law.__dataclass_fields__ if f != "grid_gain"}
    if isinstance(law, TriodeLaw):
        return float(triode_plate_current_a(*AT_TRIODE, **numbers)[0])
    if isinstance(law, PentodeLaw):
        return float(pentode_currents_a(*AT_PENTODE, **numbers).plate_a)
    return 1.0
