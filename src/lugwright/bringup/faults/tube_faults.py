"""Tubes that are dead, weak, gassy, leaky or noisy, or not in their socket."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.faults.case import Change, FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.fitting import output_tubes, socket_elements
from lugwright.bringup.wired import Otherwise
from lugwright.buildfile.build import Part, Tube
from lugwright.catalogue.records import RectifierLaw
from lugwright.circuit.edits import OPEN_OHM, ScaleValue, SetValue
from lugwright.circuit.elements import PentodeTube, TriodeTube, VacuumDiode
from lugwright.circuit.rewiring import Bridge, Rewiring

# All from memory of tubes on the bench.
WEAK = 0.6  # share of its current that a tube at the end of its life gives
STRONG = 1.35  # an output tube far off its neighbor
GAS_OHM = 100e6  # a few microamperes from plate to grid at 300 V; through ions, so it goes with the plate's volts
HEATER_LEAK_OHM = 100e3
CONTACT_OHM = 100.0  # a flake between grid and cathode
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
