"""Plate curves of every tube section of a build, with its load lines and limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict

import numpy as np

from lugwright.buildfile.build import Build, Speaker, Tank, Tube
from lugwright.catalogue.records import PentodeLaw, TriodeLaw, TubeType
from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import PentodeTube, TriodeTube
from lugwright.circuit.operating import Idle, TubeIdle
from lugwright.circuit.tubes.drive import Array
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a
from lugwright.solve.load_lines import Loads, Section, section_loads
from lugwright.solve.results import CurveLine, PlateCurves
from lugwright.solve.solved import Solved

POINTS = 61
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
CURVES = 11  # at most
BOTTOM = 0.03  # of the chart's height: the last curve is above it at the right-hand end
FINE_POINTS = 2001
TOP = 1.25  # height of a chart over the current where the grid reaches 0 V
ALIKE = 0.03  # sections whose figures differ by less are shown together


def plate_curves(build: Build, solved: Solved, idle: Idle) -> tuple[PlateCurves, ...]:
    """Return the plate curves of every amplifying section, those that stand alike shown once, in file order.

    Parameters
    ----------
    build : Build
        The amplifier.
    solved : Solved
        Its solved circuit.
    idle : Idle
        What was read out of it.

    Returns
    -------
    tuple of PlateCurves
        Volts against the cathode. [V], [A]

    Source
    ------
    The tube's own law as the idle uses it; loads from `section_loads`.
    """
    types = {part.name: part.values for part in build.parts if isinstance(part.values, Tube)}
    loads = section_loads(solved, signal=signal_edit(build))
    sections = {
        e.name: e
        for e in solved.system.circuit.elements
        if isinstance(e, TriodeTube | PentodeTube) and idle.tubes[e.name].plate_a > 0.0
    }
    found = []
    for names in _alike(sections, types, idle, loads):
        section = sections[names[0]]
        found.append(_curves(section, names, _type_of(section, types), idle.tubes[names[0]], loads[names[0]]))
    return tuple(found)


def signal_edit(build: Build) -> Edit:
    """Return what differs for signals: speakers and reverb tanks at their nominal impedance, as resistors."""
    changes = [SetValue(p.name, "ohm", p.values.ohm) for p in build.parts if isinstance(p.values, Speaker)]
    tanks = [(p.name, p.values) for p in build.parts if isinstance(p.values, Tank)]
    changes += [SetValue(f"{name}.in", "ohm", tank.input_ohm) for name, tank in tanks]
    changes += [SetValue(f"{name}.out", "ohm", tank.output_ohm) for name, tank in tanks]
    return Edit("signal", tuple(changes))


def _type_of(section: Section, types: Mapping[str, Tube]) -> TubeType:
    name = section.name
    return (types[name] if name in types else types[name[:-1]]).type


def _alike(
    sections: Mapping[str, Section], types: Mapping[str, Tube], idle: Idle, loads: Mapping[str, Loads]
) -> Iterator[tuple[str, ...]]:
    """Yield the names of sections of one type that stand at nearly the same point with nearly the same load."""
    groups: list[list[str]] = []
    for name, section in sections.items():

        def figures(of: str) -> tuple[float, ...]:
            tube, load = idle.tubes[of], loads[of]
            return (tube.plate_to_cathode_v, tube.grid_to_cathode_v, tube.plate_a, load.ac_ohm, load.dc_ohm)

        for group in groups:
            first = sections[group[0]]
            same = first.law == section.law and _type_of(first, types) is _type_of(section, types)
            if same and np.allclose(figures(group[0]), figures(name), rtol=ALIKE, atol=1e-6):
                group.append(name)
                break
        else:
            groups.append([name])
    return (tuple(group) for group in groups)


def _curves(section: Section, names: tuple[str, ...], kind: TubeType, idle: TubeIdle, load: Loads) -> PlateCurves:
    volts, amps = idle.plate_to_cathode_v, idle.plate_a
    zero_v, zero_a = _grid_zero(section, idle, load)
    top_a = TOP * max(zero_a, 2.0 * amps)
    limit = kind.limits.get("plate_v")
    far = max(1.05 * (volts + load.dc_ohm * amps), volts + min(load.ac_ohm * amps, 0.6 * volts))
    far = max(far, limit.value * 1.02) if limit is not None and limit.value < 1.3 * far else far
    watts = kind.limits.get("plate_w")
    across = far * np.linspace(0.0, 1.0, POINTS) ** 2  # closer together where the curves bend
    return PlateCurves(
        together=names,
        type=kind.name,
        screen_v=idle.screen_to_cathode_v,
        curves=tuple(
            CurveLine(_grid_words(grid), _tuple(across), _tuple(section.on * _plate_a(section, across, grid, idle)))
            for grid in _grid_steps(section, idle, far_v=far, top_a=top_a)
        ),
        idle_plate_v=volts,
        idle_plate_a=amps,
        idle_grid_v=idle.grid_to_cathode_v,
        dc_ohm=load.dc_ohm,
        dc_line=_through(volts, amps, load.dc_ohm, highest_a=1.2 * top_a),
        ac_ohm=load.ac_ohm,
        ac_alone_ohm=load.alone_ohm,
        ac_line=_ac_line(volts, amps, load, highest_a=1.2 * top_a),
        grid_zero_v=zero_v,
        grid_zero_a=zero_a,
        top_a=top_a,
        plate_w_limit=None if watts is None else watts.value,
        plate_v_limit=None if limit is None else limit.value,
    )


def _plate_a(section: Section, plate_v: Array, grid_v: float, idle: TubeIdle) -> Array:
    law = {name: value for name, value in asdict(section.law).items() if name != "grid_gain"}
    if isinstance(section.law, TriodeLaw):
        return triode_plate_current_a(plate_v, grid_v, **law)[0]
    if isinstance(section.law, PentodeLaw):
        return pentode_currents_a(plate_v, idle.screen_to_cathode_v, grid_v, **law).plate_a
    raise TypeError(f"{section.name} has no law")


def _grid_steps(section: Section, idle: TubeIdle, *, far_v: float, top_a: float) -> list[float]:
    """Return round grid volts from 0 to where the curve hardly leaves the bottom of the chart."""
    low, high = -10.0 * abs(idle.grid_to_cathode_v) - 1.0, 0.0
    for _ in range(20):
        middle = 0.5 * (low + high)
        above = section.on * float(_plate_a(section, np.array([far_v]), middle, idle)[0]) > BOTTOM * top_a
        low, high = (low, middle) if above else (middle, high)
    rough = abs(high) / (CURVES - 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in STEPS if m * power >= rough * (1.0 - 1e-9))
    return [-round(step * k, 6) + 0.0 for k in range(math.floor(abs(high) / step + 1e-9) + 1)]


def _grid_words(volts: float) -> str:
    return f"{volts:g} V".replace("-", "−")


def _ac_current(plate_v: Array, volts: float, amps: float, load: Loads) -> Array:
    """Return the current on the AC load line at plate volts; it bends where the other side cuts off."""
    both = amps + (volts - plate_v) / load.ac_ohm
    if load.alone_ohm is None:
        return both
    bend_a = 2.0 * amps  # as much more in one as less in the other
    bend_v = volts - amps * load.ac_ohm
    return np.where(plate_v >= bend_v, both, bend_a + (bend_v - plate_v) / load.alone_ohm)


def _ac_line(volts: float, amps: float, load: Loads, *, highest_a: float) -> CurveLine:
    corners = [0.0, volts, volts + amps * load.ac_ohm]
    if load.alone_ohm is not None:
        corners.append(max(volts - amps * load.ac_ohm, 0.0))
    across = np.array(sorted(corners))
    amperes = _ac_current(across, volts, amps, load)
    if amperes[0] > highest_a and load.ac_ohm > 0:  # ends where the chart does
        slope = load.ac_ohm if load.alone_ohm is None else load.alone_ohm
        across[0] += (amperes[0] - highest_a) * slope
        amperes = _ac_current(across, volts, amps, load)
    return CurveLine("AC load", _tuple(across), _tuple(amperes))


def _through(volts: float, amps: float, ohm: float, *, highest_a: float) -> CurveLine:
    top_a = min(highest_a, amps + volts / ohm)
    return CurveLine("DC load", (volts + ohm * amps, volts - ohm * (top_a - amps)), (0.0, top_a))


def _grid_zero(section: Section, idle: TubeIdle, load: Loads) -> tuple[float, float]:
    """Return where the AC load line meets the curve of 0 V on the grid."""
    across = np.linspace(0.0, idle.plate_to_cathode_v, FINE_POINTS)
    tube = section.on * _plate_a(section, across, 0.0, idle)
    over = tube - _ac_current(across, idle.plate_to_cathode_v, idle.plate_a, load)  # rises all the way
    volts = float(np.interp(0.0, over, across))
    return volts, float(np.interp(volts, across, tube))


def _tuple(values: Array | Sequence[float]) -> tuple[float, ...]:
    return tuple(float(v) for v in values)
