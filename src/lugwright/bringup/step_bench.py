"""The circuit of one build at any step of the first power-up, with the draws of good builds around it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from lugwright.bringup.bench_points import Point, socket_points, tubes_of
from lugwright.bringup.bias_control import all_turned, bias_controls, control_words
from lugwright.bringup.feedback import has_feedback
from lugwright.bringup.fitting import FIXED_BIAS_BELOW_V, output_tubes, rectifiers_alone
from lugwright.bringup.good_builds import MAINS, SHARE, Array, Draws, running_factors, window
from lugwright.bringup.ohms_chart import bench_circuit
from lugwright.bringup.results import Reading
from lugwright.buildfile.build import GROUND, Build, Part, Tube
from lugwright.circuit.edits import Edit
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.solve.idle import solve_column
from lugwright.solve.many import ManyIdles, solve_many
from lugwright.solve.meter_load import Voltmeter
from lugwright.solve.ohms import resistance_ohm
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved

METER_SHARE = 0.01
METER_RANGES_V = (0.6, 6.0, 60.0, 600.0, 6000.0)
METER_DIGITS = 3.0 / 6000.0  # of a range: three digits of a display that counts to 6000
NOTHING_V = 5e-3  # the display shows zero
HUM_V = 0.01  # what a display may show where nothing stands
LAMP_SPREAD = 0.10  # assumed: watts of another lamp of the same rating
LAMP_BEND = 0.55  # a filament's amperes follow its volts to this power, from memory
AMMETER_SHARE = 0.05  # a clamp or a plug-in meter for the mains, from memory
ENDS = {0.0: "counterclockwise", 1.0: "clockwise"}


def meter_digits_v(volts: float) -> float:
    """Return what the last digits of a display are worth at so many volts.

    Parameters
    ----------
    volts : float
        Size of the reading. [V]

    Returns
    -------
    float
        Three digits of the lowest range that holds it. [V]

    Source
    ------
    From memory of hand meters: 1 % and three digits of 6000 counts, as good as most or worse.
    """
    return METER_DIGITS * next((top for top in METER_RANGES_V if volts < top), METER_RANGES_V[-1])


@dataclass(frozen=True)
class Level:
    """One step's solution with its draws, as a meter shows it."""

    solved: Solved
    idle: Idle
    shown: Mapping[str, float]  # share of a joint's volts that the meter shows
    spread: Mapping[str, Array]  # volts without the meter (draw)
    mains_factors: Array  # current from the mains against the expected one (draw)
    many: ManyIdles  # the draws, whole
    lamp_share: float  # how far another lamp moves every reading
    share: float  # of good builds that fall in a window

    def reading(self, point: Point, note: str = "", *, stray_v: float = 0.0) -> Reading:
        """Return the DC volts at one point with the window of a good build."""
        grounded = point.joint == GROUND
        expected = 0.0 if grounded else self.idle.joints[point.joint].volts * self.shown[point.joint]
        expected = expected if abs(expected) > NOTHING_V else 0.0
        low, high = (0.0, 0.0) if grounded else window(self.shown_draws(point.joint), self.share)
        low, high = min(low, expected), max(high, expected)
        share = METER_SHARE + self.lamp_share
        off_v = stray_v + (meter_digits_v(max(abs(low), abs(high))) if expected else HUM_V)
        low, high = low - share * abs(low) - off_v, high + share * abs(high) + off_v
        return Reading(point.words, point.joint, "V dc", expected, low, high, "V", note, red=point.key or point.joint)

    def shown_draws(self, joint: str) -> Array:
        """Return what the meter shows at a joint in each draw. [V]"""
        return np.asarray(self.spread[joint] * self.shown[joint])

    @property
    def mains_window_a(self) -> tuple[float, float]:
        """Return between what the current from the mains lies in good builds, the ammeter's own error with it."""
        low, high = window(self.mains_factors, self.share)
        low, high = min(low, 1.0), max(high, 1.0)
        off = AMMETER_SHARE + self.lamp_share
        return self.idle.mains_rms_a * low * (1.0 - off), self.idle.mains_rms_a * high * (1.0 + off)


@dataclass(frozen=True)
class StepBench:
    """What every step shares. Solutions are kept: two steps of one circuit cost one."""

    build: Build
    solved: Solved
    normal: Idle
    share: float = SHARE
    _levels: dict[tuple[object, ...], Level] = field(default_factory=dict, repr=False)
    _idles: dict[tuple[object, ...], Idle] = field(default_factory=dict, repr=False)

    @property
    def circuit(self) -> Circuit:
        """Return the circuit with all tubes in and no lamp."""
        return self.solved.system.circuit

    @cached_property
    def outputs(self) -> tuple[str, ...]:
        """Return the names of the output tubes."""
        return tuple(part.name for part in output_tubes(self.build))

    @cached_property
    def plate_limits_w(self) -> Mapping[str, float]:
        """Return the plate limits of the tubes that have one. [W]"""
        return {
            part.name: part.values.type.limits["plate_w"].value
            for part in tubes_of(self.build)
            if isinstance(part.values, Tube) and "plate_w" in part.values.type.limits
        }

    @cached_property
    def output_grids(self) -> tuple[Point, ...]:
        """Return the grid pins of the output tubes."""
        return tuple(p for part in output_tubes(self.build) for p in socket_points(part) if p.electrode == "grid")

    @cached_property
    def fixed_bias(self) -> bool:
        """Return whether a negative supply biases an output tube."""
        return any(self.normal.joints[p.joint].volts < FIXED_BIAS_BELOW_V for p in self.output_grids)

    @cached_property
    def controls(self) -> tuple[Part, ...]:
        """Return the bias controls."""
        return tuple(bias_controls(self.build, self.normal)) if self.fixed_bias else ()

    @property
    def control_names(self) -> str:
        """Return the bias controls in words."""
        return " and ".join(control_words(part) for part in self.controls)

    @cached_property
    def coldest(self) -> float | None:
        """Return the end of the bias controls at which the output grids are most negative; None without control."""
        if not self.controls:
            return None
        alone = rectifiers_alone(self.build, self.circuit)
        at = {turn: self.level(alone + all_turned(self.controls, rotation=turn)) for turn in ENDS}
        return min(ENDS, key=lambda turn: sum(at[turn].idle.joints[p.joint].volts for p in self.output_grids))

    @cached_property
    def cold_bias(self) -> Edit:
        """Return the edit that turns the bias controls to their most negative end."""
        return Edit("") if self.coldest is None else all_turned(self.controls, rotation=self.coldest)

    @property
    def cold_words(self) -> str:
        """Return where the bias controls stand then, "" without any."""
        return "" if self.coldest is None else f"{self.control_names} full {ENDS[self.coldest]}"

    @cached_property
    def draws(self) -> Draws:
        """Return what parts, tubes and mains of good builds are multiplied with."""
        return running_factors(self.build, self.circuit)

    @cached_property
    def _voltmeter(self) -> Voltmeter:
        return Voltmeter(self.circuit)

    def level(self, edit: Edit) -> Level:
        """Return the solution under one edit and its draws, from one solve of the base."""
        if edit.changes not in self._levels:
            self._levels[edit.changes] = self._level(edit)
        return self._levels[edit.changes]

    def idle_at(self, edit: Edit) -> Idle:
        """Return the idle under one edit, without draws."""
        if edit.changes not in self._idles:
            self._idles[edit.changes] = read_idle(self._solved(edit, lamp=_has_lamp(edit)))
        return self._idles[edit.changes]

    def _solved(self, edit: Edit, *, lamp: bool) -> Solved:
        """Return the circuit solved under an edit, started from one that was solved like it, with or without lamp."""
        system = self.solved.system
        near = next((x.solved for x in reversed(self._levels.values()) if bool(x.lamp_share) == lamp), None)
        return solve_column(system, system.values([edit]), near) if edit.changes else self.solved

    def _level(self, edit: Edit) -> Level:
        system = self.solved.system
        lamp = _has_lamp(edit)
        solved = self._solved(edit, lamp=lamp)
        many = solve_many(solved, self.draws)
        idle = read_idle(solved)
        return Level(
            solved=solved,
            idle=idle,
            shown=self._voltmeter.shown_shares(solved),
            spread={j: many.level_at(j) for j in system.joints},
            mains_factors=self._mains_factors(idle, many.diode_a, solved),
            many=many,
            lamp_share=_lamp_share(idle, self.build.mains_v) if lamp else 0.0,
            share=self.share,
        )

    def _mains_factors(self, idle: Idle, diode_a: Array, solved: Solved) -> Array:
        """Return the mains current of each draw against the expected one: what the rectifiers take follows their
        current, the rest (heaters, magnetizing) the mains."""
        mains = np.asarray(self.draws.get(MAINS, np.ones(1)))
        mean_a = 0.0 if solved.cycle is None else float(np.sum(solved.cycle.mean_a))
        if mean_a <= 0.0 or idle.mains_w <= 0.0:
            return mains
        heaters = sum(self._heat(idle, name) for name in idle.parts)
        rest = min(heaters / idle.mains_w, 1.0)
        return np.asarray(rest * mains + (1.0 - rest) * np.sum(diode_a, axis=0) / mean_a)

    def _heat(self, idle: Idle, name: str) -> float:
        element = self.circuit.by_name.get(name)
        return idle.parts[name].watts if getattr(element, "role", "") in ("heater", "lamp") else 0.0

    @cached_property
    def grid_ohm(self) -> Mapping[str, float]:
        """Return the resistance from every grid to ground with the plug out. [ohm]"""
        joints = sorted(
            {p.joint for t in tubes_of(self.build) for p in socket_points(t) if p.electrode == "grid"} - {GROUND}
        )
        if not joints:
            return {}
        ohm = resistance_ohm(bench_circuit(self.build, self.circuit), [(j, GROUND) for j in joints])
        return dict(zip(joints, (float(x) for x in ohm[0]), strict=True))

    @cached_property
    def feedback(self) -> bool:
        """Return whether a part leads from the speaker winding back to an earlier stage."""
        return has_feedback(self.build)


def _has_lamp(edit: Edit) -> bool:
    return any(change.element == "limiter" for change in edit.changes)


def _lamp_share(idle: Idle, mains_v: float) -> float:
    """Return how far another lamp of the same rating moves the volts behind it.

    Lamp and primary share the mains, both carry the same current, the primary's about as a resistor: with r the lamp's
    volts over the primary's and b = 1 / 0.55, a lamp of x more watts leaves the primary x b r / (1 + b r) more volts.
    """
    lamp_v = idle.lamp_rms_v or 0.0
    bent = lamp_v / max(mains_v - lamp_v, 1.0) / LAMP_BEND
    return LAMP_SPREAD * bent / (1.0 + bent)
