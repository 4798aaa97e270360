"""What a builder can read, step by step, with what each reading costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from lugwright.bringup.bench_points import socket_points, tubes_of
from lugwright.bringup.trace.bench import FINAL, OHMS, SIGNAL, TraceBench
from lugwright.bringup.trace.records import Probe
from lugwright.buildfile.build import Inlet, Speaker, Transformer
from lugwright.layout.results import PlanTerminal

# Seconds a reading takes, from bench practice as remembered: find the point, clip on, let it settle, write it down.
_SECONDS = {"ohm": 12.0, "V dc": 15.0, "V ac": 15.0, "ripple V ac": 20.0, "signal V ac": 25.0}
TWO_TIPS_S = 8.0  # both tips to be found, not only the red one
# What a slip of the tip costs, in the same seconds: nothing with the plug out, a part above 60 V, a life above that.
_RISKS = ((60.0, 2.0), (250.0, 20.0), (float("inf"), 45.0))
MAINS_RISK = 120.0
_READ_LUGS = ("pin", "lug", "pot", "jack", "can", "exit", "panel")
HEATERS = "heaters"
_LOOKED_INTO = ("no tubes", "rectifier", "bias", "small tubes")  # steps before the last that tracing may ask for
_ELECTRODES = ("plate", "screen", "cathode", "grid")
_HEATER_PAIRS = (("heater1", "heater2"), ("heater1", "heater_tap"), ("heater2", "heater_tap"))


def probes_of(bench: TraceBench) -> tuple[Probe, ...]:
    """Return everything that can be read at the terminals of the plan, in the order of the steps.

    Terminals of the mains side are read with the plug out only; what stands on the ground joint is read in ohms.
    """
    return tuple(dict.fromkeys(_Probes(bench).every()))


@dataclass(frozen=True, eq=False)
class _Probes:
    bench: TraceBench

    def every(self) -> Iterator[Probe]:
        for key in self.bench.steps:
            if key == OHMS:
                yield from self._ohms()
            elif key == SIGNAL:
                yield from self._signal()
            elif key == HEATERS:
                yield from self._ac(key)
            elif key == FINAL:
                yield from self._ac(key)
                yield from self._dc(key)
                yield from self._ripple(key)
            elif key in _LOOKED_INTO:
                yield from self._dc(key)

    @cached_property
    def ground(self) -> str:
        return self.bench.circuit.ground

    @cached_property
    def terminals(self) -> list[PlanTerminal]:
        """Return the terminals a tip can be put on whose joint the circuit knows."""
        known = {*self.bench.circuit.joints, self.ground}
        return [t for t in self.bench.plan.terminals.values() if t.kind in _READ_LUGS and t.joint in known]

    @cached_property
    def words(self) -> dict[str, str]:
        """Return each terminal's label, pins with their electrode."""
        found = {key: t.label for key, t in self.bench.plan.terminals.items()}
        for part in tubes_of(self.bench.build):
            for point in socket_points(part):
                pin = point.words.split(" pin ")[1].split(" ")[0]
                found[f"{part.name}.{pin}"] = point.words
        return found

    @cached_property
    def mains(self) -> frozenset[str]:
        """Return the joints that the plug makes live: the inlet's, and what a fuse, switch or primary joins to it."""
        build = self.bench.build
        live = {t.joint for p in build.parts if isinstance(p.values, Inlet) for t in p.terminals if t.name != "earth"}
        grown = True
        while grown:
            grown = False
            for part in build.parts:
                ends = {t.joint for t in part.terminals}
                if part.kind in ("fuse", "switch", "thermistor", "lamp") and ends & live and ends - live:
                    live |= ends
                    grown = True
                if isinstance(part.values, Transformer) and part.values.role == "power":
                    first = {part.terminal(e).joint for w in part.values.windings[:1] for e in w.ends}
                    grown |= bool(first - live)
                    live |= first
        return frozenset(live - {self.ground})

    def _ohms(self) -> Iterator[Probe]:
        for terminal in self.terminals:
            yield self._probe(OHMS, terminal.key, self.ground, "ohm", 0.0)
        for seat in self.bench.plan.seats:
            yield self._probe(OHMS, *seat.terminals, "ohm", 0.0)
        for part in self.bench.build.parts:
            if isinstance(part.values, Transformer):
                for winding in part.values.windings:
                    ends = [f"{part.name}.{end}" for end in winding.ends]
                    for one, other in pairwise(ends):
                        if {one, other} <= set(self.bench.plan.terminals):
                            yield self._probe(OHMS, one, other, "ohm", 0.0)
            elif isinstance(part.values, Inlet):
                line, neutral = f"{part.name}.line", f"{part.name}.neutral"
                yield self._probe(OHMS, line, neutral, "ohm", 0.0)
                for terminal in self.terminals:
                    if terminal.joint in self.mains and terminal.key not in (line, neutral):
                        yield self._probe(OHMS, line, terminal.key, "ohm", 0.0)
                        yield self._probe(OHMS, neutral, terminal.key, "ohm", 0.0)
                yield self._probe(OHMS, f"{part.name}.earth", "chassis", "ohm", 0.0)

    def _dc(self, key: str) -> Iterator[Probe]:
        dc, row = self.bench.solved_at(key).dc.volts[:, 0], self.bench.solved_at(key).system.row
        sockets = {
            f"{part.name}.{pin}"
            for part in tubes_of(self.bench.build)
            for t in part.terminals
            if t.name in _ELECTRODES
            for pin in t.pins
        }
        for terminal in self.terminals:
            if terminal.joint == self.ground or terminal.joint in self.mains:
                continue
            volts = abs(float(dc[row[terminal.joint]]))
            if key == FINAL or terminal.key in sockets or terminal.kind == "can":
                yield self._probe(key, terminal.key, self.ground, "V dc", volts)
        if key == FINAL:
            for seat in self.bench.plan.seats:
                joints = [self.bench.joint_of(terminal) for terminal in seat.terminals]
                if not set(joints) & {*self.mains, self.ground} and set(joints) <= set(row):
                    volts = max(abs(float(dc[row[joint]])) for joint in joints)
                    yield self._probe(key, *seat.terminals, "V dc", volts)

    def _ac(self, key: str) -> Iterator[Probe]:
        for part in tubes_of(self.bench.build):
            pins = {t.name: t.pins for t in part.terminals}
            for one, other in _HEATER_PAIRS:
                if one in pins and other in pins:
                    red, black = f"{part.name}.{pins[one][0]}", f"{part.name}.{pins[other][0]}"
                    yield self._probe(key, red, black, "V ac", 6.3)
        for part in self.bench.build.parts:
            if isinstance(part.values, Transformer) and part.values.role == "power":
                for winding in part.values.windings:
                    ends = [f"{part.name}.{end}" for end in winding.ends]
                    volts = max(winding.turns)
                    for one, other in pairwise(ends):
                        if {one, other} <= set(self.bench.plan.terminals):
                            yield self._probe(key, one, other, "V ac", volts)
                    for end in ends:
                        joint = self.bench.joint_of(end)
                        if end in self.bench.plan.terminals and joint != self.ground and joint not in self.mains:
                            yield self._probe(key, end, self.ground, "V ac", volts)

    def _ripple(self, key: str) -> Iterator[Probe]:
        dc, row = self.bench.solved_at(key).dc.volts[:, 0], self.bench.solved_at(key).system.row
        for terminal in self.terminals:
            if terminal.joint.startswith("B+") and terminal.kind in ("can", "lug"):
                yield self._probe(key, terminal.key, self.ground, "ripple V ac", abs(float(dc[row[terminal.joint]])))

    def _signal(self) -> Iterator[Probe]:
        dc, row = self.bench.solved.dc.volts[:, 0], self.bench.solved.system.row
        for part in tubes_of(self.bench.build):
            for t in part.terminals:
                if t.name in ("plate", "grid", "cathode") and t.joint in row:
                    for pin in t.pins:
                        volts = abs(float(dc[row[t.joint]]))
                        yield self._probe(SIGNAL, f"{part.name}.{pin}", self.ground, "signal V ac", volts)
        for terminal in self.terminals:
            if terminal.kind in ("pot", "jack") and terminal.joint != self.ground:
                yield self._probe(SIGNAL, terminal.key, self.ground, "signal V ac", 1.0)
        for part in self.bench.build.parts:
            if isinstance(part.values, Speaker):
                plus, minus = (part.terminal(name).joint for name in ("plus", "minus"))
                words = f"speaker {part.name} plus to minus"
                yield Probe(SIGNAL, plus, minus, "signal V ac", words, _SECONDS["signal V ac"], 0.0)

    def _probe(self, step: str, red: str, black: str, quantity: str, volts: float) -> Probe:
        joints = {self.bench.joint_of(red), self.bench.joint_of(black)}
        risk = 0.0 if step == OHMS else next(cost for limit, cost in _RISKS if volts <= limit)
        if step != OHMS and joints & self.mains:
            risk = MAINS_RISK
        effort = _SECONDS[quantity] + (0.0 if black == self.ground else TWO_TIPS_S)
        words = f"{self.words.get(red, red)} to {self.words.get(black, black)}"
        return Probe(step, red, black, quantity, words, effort, risk)
