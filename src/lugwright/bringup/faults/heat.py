"""What a fault does to the heaters, and a cathode too cool to its tube."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Transformer, Tube
from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.elements import Coil, PentodeTube, Resistor, TriodeTube, VacuumDiode, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Rewiring
from lugwright.circuit.tubes.heating import ROOM, emission_share

HEATING = ("heater", "lamp")  # roles of what a heater winding feeds
LEAST_OHM, MOST_OHM = 1e-3, 2000.0  # of what counts among heaters: a pair of resistors to ground does, a leak does not
TIE_S = 1e-7  # keeps what hangs free at a level
DARK_BELOW, DIM_BELOW, BRIGHT_FROM = 0.3, 0.85, 1.25  # share of the rated volts from which the eye tells
NO_EMISSION = 1e-3
_TUNGSTEN = 1.2  # resistance with absolute temperature to this power, as in `circuit.tubes.heating`


@dataclass(frozen=True)
class Warmth:
    """Changes for tubes whose cathodes are too cool, and what the eye sees of their heaters."""

    changes: tuple[ScaleValue, ...] = ()
    shows: frozenset[str] = frozenset()


NOTHING = Warmth()


@dataclass(frozen=True)
class _Branch:
    name: str
    a: str
    b: str
    ohm: float
    volts: float = 0.0  # of a coil, no-load


@dataclass(frozen=True, eq=False)
class HeaterNetwork:
    """Heaters, lamps, small resistors and the windings that feed them."""

    branches: tuple[_Branch, ...]
    sections: Mapping[str, tuple[str, ...]]  # heater element -> elements whose emission it makes
    tubes: Mapping[str, str]  # heater element -> tube
    good: Mapping[str, float] = field(default_factory=dict)  # rms volts of every heater as planned

    @staticmethod
    def of(build: Build, circuit: Circuit) -> HeaterNetwork:
        """Return the heater network of a build."""
        heating = [e for e in circuit.elements if isinstance(e, Resistor) and e.role in HEATING]
        joints = {joint for e in heating for joint in e.joints}
        coils = _coils(build, circuit, joints - {GROUND, CHASSIS, EARTH})
        joints |= {joint for coil in coils for joint in (coil.a, coil.b)}
        others = [
            e
            for e in circuit.elements
            if isinstance(e, Resistor) and e.role not in HEATING and e.ohm < MOST_OHM and set(e.joints) <= joints
        ]
        branches = [_Branch(e.name, e.a, e.b, e.ohm) for e in (*heating, *others)]
        branches += [_Branch(coil.name, coil.a, coil.b, coil.ohm, coil.turns) for coil in coils]
        sections, tubes = _sections(build, circuit)
        network = HeaterNetwork(tuple(branches), sections, tubes)
        return HeaterNetwork(tuple(branches), sections, tubes, network._volts(Rewiring("")))

    @cached_property
    def _names(self) -> frozenset[str]:
        return frozenset(branch.name for branch in self.branches)

    @cached_property
    def _joints(self) -> frozenset[str]:
        return frozenset(joint for branch in self.branches for joint in (branch.a, branch.b))

    @cached_property
    def _seen(self) -> dict[Rewiring, Warmth]:
        return {}

    def under(self, rewiring: Rewiring) -> Warmth:
        """Return what a rewiring does to the heaters."""
        moved = tuple(m for m in rewiring.moved if m.element in self._names)
        bridges = tuple(b for b in rewiring.bridges if b.a in self._joints and b.b in self._joints and b.ohm < MOST_OHM)
        changes = tuple(c for c in rewiring.changes if c.element in self._names)
        if not (moved or bridges or changes):
            return NOTHING
        mine = Rewiring("", changes, moved, bridges)
        if mine not in self._seen:
            self._seen[mine] = self._warmth(self._volts(mine))
        return self._seen[mine]

    def _warmth(self, volts: Mapping[str, float]) -> Warmth:
        changes, shows = [], set()
        for name, tube in self.tubes.items():
            share = volts[name] / self.good[name] if self.good.get(name) else 1.0
            emission = emission_at(share)
            if emission < 0.98:
                changes += [ScaleValue(section, "on", emission) for section in self.sections[name]]
            word = "dark" if share < DARK_BELOW else "dim" if share < DIM_BELOW else "bright"
            if share < DIM_BELOW or share > BRIGHT_FROM:
                shows.add(f"heater {word} {tube}")
        return Warmth(tuple(changes), frozenset(shows))

    def _volts(self, rewiring: Rewiring) -> dict[str, float]:
        """Return the volts at every heater: a mesh of resistors and windings, all in phase."""
        moved = {(m.element, m.end): m.to for m in rewiring.moved}
        set_to = {(c.element, c.field): c for c in rewiring.changes}
        branches = [
            _Branch(
                b.name, moved.get((b.name, "a"), b.a), moved.get((b.name, "b"), b.b),
                _changed(set_to.get((b.name, "ohm")), b.ohm), _changed(set_to.get((b.name, "turns")), b.volts),
            )
            for b in self.branches
        ]  # fmt: skip
        branches += [_Branch("", b.a, b.b, b.ohm) for b in rewiring.bridges]
        row = {joint: k for k, joint in enumerate(dict.fromkeys(j for b in branches for j in (b.a, b.b)))}
        a, b = (np.array([row[getattr(one, end)] for one in branches]) for end in ("a", "b"))
        siemens = 1.0 / np.maximum([one.ohm for one in branches], LEAST_OHM)
        drive = siemens * np.array([one.volts for one in branches])
        matrix, into = np.zeros((len(row), len(row))), np.zeros(len(row))
        np.add.at(matrix, (a, a), siemens)
        np.add.at(matrix, (b, b), siemens)
        np.add.at(matrix, (a, b), -siemens)
        np.add.at(matrix, (b, a), -siemens)
        np.add.at(into, a, drive)
        np.add.at(into, b, -drive)
        level = np.linalg.solve(matrix + TIE_S * np.eye(len(row)), into)
        across = np.abs(level[a] - level[b])
        return {one.name: float(v) for one, v in zip(branches, across, strict=True) if one.name in self.tubes}


def emission_at(heater_share: float) -> float:
    """Return the emission of a cathode, settled, at another heater voltage.

    Parameters
    ----------
    heater_share : float
        Heater volts over those it has in a good build. [-]

    Returns
    -------
    float
        Share of its full current. [-]

    Valid
    -----
    Minutes after switch-on. Real cathodes differ much when cool: a half-heated tube is worth a factor of two.

    Source
    ------
    Derived below: power of a tungsten heater, v^2 / t^1.2, equals what it radiates; `emission_share`.
    """
    low, high = ROOM, 2.0
    for _ in range(40):
        t = 0.5 * (low + high)
        loss = (t**4 - ROOM**4) / (1.0 - ROOM**4)
        low, high = (t, high) if heater_share**2 / t**_TUNGSTEN > loss else (low, t)
    share = min(1.0, float(emission_share(low)))
    return share if share > NO_EMISSION else 0.0


def _changed(change: ScaleValue | SetValue | None, value: float) -> float:
    if change is None:
        return value
    return value * change.factor if isinstance(change, ScaleValue) else change.value


def _coils(build: Build, circuit: Circuit, joints: set[str]) -> list[Coil]:
    """Return the coils of mains transformer windings that end on heater joints, all sections of such a winding."""
    found = []
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role == "power":
            group = circuit.by_name[part.name]
            coils = group.coils if isinstance(group, Windings) else ()
            fed = {_winding(coil) for coil in coils if coil.a in joints or coil.b in joints}
            found += [coil for coil in coils if _winding(coil) in fed]
    return found


def _winding(coil: Coil) -> str:
    return coil.name.rsplit(".", 1)[0]


def _sections(build: Build, circuit: Circuit) -> tuple[dict[str, tuple[str, ...]], dict[str, str]]:
    """Return for each heater what it warms. The half on pin heater1 is taken for section a's: sheets do not say."""
    emitting = [e.name for e in circuit.elements if isinstance(e, TriodeTube | PentodeTube | VacuumDiode)]
    sections: dict[str, tuple[str, ...]] = {}
    tubes: dict[str, str] = {}
    for part in build.parts:
        if not isinstance(part.values, Tube):
            continue
        letters = [section.letter for section in part.values.type.sections]
        mine = [n for n in emitting if n.split(".")[0] in {part.name, *(f"{part.name}{x}" for x in letters)}]
        for name in (f"{part.name}.heater", f"{part.name}.heater1-tap", f"{part.name}.heater2-tap"):
            if name in circuit.by_name:
                tubes[name] = part.name
                half = len(letters) == 2 and name != f"{part.name}.heater"
                wanted = f"{part.name}{letters[0 if 'heater1' in name else 1]}" if half else ""
                sections[name] = tuple(n for n in mine if not wanted or n == wanted)
    return sections, tubes
