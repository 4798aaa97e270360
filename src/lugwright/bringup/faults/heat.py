"""What a fault does to the heaters, and a cathode too cool to its tube."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from lugwright.bringup.faults.mesh import MOST_OHM, Branch, Mesh
from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Transformer, Tube
from lugwright.circuit.edits import ScaleValue
from lugwright.circuit.elements import (
    Coil,
    PentodeTube,
    Resistor,
    TriodeTube,
    VacuumDiode,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Rewiring
from lugwright.circuit.tubes.heating import ROOM, emission_share

HEATING = ("heater", "lamp")  # roles of what a heater winding feeds
PRIMARY_OHM_PER_V = 2.5  # a primary as a load of some fifty watts at 120 V: only whether it gets its volts matters
DARK_BELOW, DIM_BELOW, BRIGHT_FROM = 0.3, 0.85, 1.25  # share of the rated volts from which the eye tells
NO_EMISSION, ENOUGH = 1e-3, 0.98  # a tube below is dead, one above as good as any
WARM_FROM = 0.97  # share of the volts from which the cathode does not care
_TUNGSTEN = 1.2  # resistance with absolute temperature to this power, as in `circuit.tubes.heating`
NO_CHANGE = Rewiring("")


@dataclass(frozen=True)
class Warmth:
    """Changes for tubes whose cathodes are too cool, and what the eye sees of their heaters."""

    changes: tuple[ScaleValue, ...] = ()
    shows: frozenset[str] = frozenset()


NOTHING = Warmth()


@dataclass(frozen=True, eq=False)
class HeaterNetwork:
    """Heaters and the windings that feed them, and what feeds the primaries."""

    heating: Mesh
    mains: Mesh
    turns: Mapping[str, float]  # of each primary coil
    sections: Mapping[str, tuple[str, ...]]  # heater element -> elements whose emission it makes
    tubes: Mapping[str, str]  # heater element -> tube

    @staticmethod
    def of(build: Build, circuit: Circuit, classes: Mapping[str, str]) -> HeaterNetwork:
        """Return the heater network of a build."""
        coils = list(_coils(build, circuit))
        primaries = [coil for coil, primary in coils if primary]
        secondaries = [coil for coil, primary in coils if not primary]
        sections, tubes = _sections(build, circuit)
        return HeaterNetwork(
            Mesh(tuple(_heating(circuit, secondaries))),
            Mesh(tuple(_mains(circuit, primaries, classes))),
            {coil.name: coil.turns for coil in primaries},
            sections,
            tubes,
        )

    @cached_property
    def _good(self) -> Mapping[str, float]:
        return self.heating.volts(NO_CHANGE) if self.heating.branches else {}

    @cached_property
    def _good_flux(self) -> float:
        return self._flux(NO_CHANGE)

    @cached_property
    def _seen(self) -> dict[tuple[Rewiring | None, Rewiring | None], Warmth]:
        return {}

    def under(self, rewiring: Rewiring) -> Warmth:
        """Return what a rewiring does to the heaters."""
        mine = self.heating.touched(rewiring), self.mains.touched(rewiring)
        if mine == (None, None) or not self.tubes:
            return NOTHING
        if mine not in self._seen:
            self._seen[mine] = self._warmth(*mine)
        return self._seen[mine]

    def _flux(self, rewiring: Rewiring) -> float:
        """Return the volts a turn of the primaries gets, as far as it gets any."""
        if not self.turns or not self.mains.branches:
            return 1.0
        volts = self.mains.volts(rewiring)
        more = {c.element: c.factor for c in rewiring.changes if isinstance(c, ScaleValue) and c.field == "turns"}
        return max(volts[name] / (turns * more.get(name, 1.0)) for name, turns in self.turns.items())

    def _warmth(self, heating: Rewiring | None, mains: Rewiring | None) -> Warmth:
        flux = self._flux(mains) / self._good_flux if mains and self._good_flux else 1.0
        volts = self.heating.volts(heating) if heating else self._good
        changes: list[ScaleValue] = []
        glow: dict[str, list[str]] = {}
        for name, tube in self.tubes.items():
            share = flux * volts[name] / self._good[name] if self._good.get(name) else 1.0
            emission = emission_at(share) if share < WARM_FROM else 1.0
            if emission < ENOUGH:
                changes += [ScaleValue(section, "on", emission) for section in self.sections[name]]
            glow.setdefault(tube, []).append(_glow(share))
        shows = (f"heater {_together(words)} {tube}" for tube, words in glow.items() if any(words))
        return Warmth(tuple(changes), frozenset(shows))


def _glow(share: float) -> str:
    """Return how a heater glows, "" where as it should."""
    if share < DIM_BELOW:
        return "dark" if share < DARK_BELOW else "dim"
    return "bright" if share > BRIGHT_FROM else ""


def _together(halves: list[str]) -> str:
    """Return how a tube glows whose heater has two halves: with one of them dark it is dim."""
    if "bright" in halves:
        return "bright"
    return "dark" if set(halves) == {"dark"} else "dim"


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


def _coils(build: Build, circuit: Circuit) -> Iterator[tuple[Coil, bool]]:
    """Yield the coils of mains transformers, and whether each belongs to the first winding."""
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role == "power":
            group = circuit.by_name[part.name]
            first = f"{part.name}.{part.values.windings[0].name}."
            for coil in group.coils if isinstance(group, Windings) else ():
                yield coil, coil.name.startswith(first)


def _heating(circuit: Circuit, coils: list[Coil]) -> Iterator[Branch]:
    """Yield heaters and lamps, the coils, and small resistors that hang on nothing but heaters."""
    heaters = [e for e in circuit.elements if isinstance(e, Resistor) and e.role in HEATING]
    joints = {joint for e in heaters for joint in e.joints}
    fed = {_winding(coil) for coil in coils if {coil.a, coil.b} & (joints - {GROUND, CHASSIS, EARTH})}
    joints |= {joint for coil in coils if _winding(coil) in fed for joint in (coil.a, coil.b)}
    for e in circuit.elements:
        if isinstance(e, Resistor) and (e.role in HEATING or (e.ohm < MOST_OHM and set(e.joints) <= joints)):
            yield Branch(e.name, e.a, e.b, e.ohm)
    for coil in coils:
        yield Branch(coil.name, coil.a, coil.b, coil.ohm, coil.turns)


def _mains(circuit: Circuit, coils: list[Coil], classes: Mapping[str, str]) -> Iterator[Branch]:
    """Yield the wall, what carries the mains to the primaries, and the primaries as a load."""
    for e in circuit.elements:
        if isinstance(e, VoltageSource) and e.rms_v > 0.0:
            yield Branch(e.name, e.a, e.b, e.ohm, e.rms_v)
        elif isinstance(e, Resistor) and any(classes.get(joint) == "mains" for joint in e.joints):
            yield Branch(e.name, e.a, e.b, e.ohm)
    for coil in coils:
        yield Branch(coil.name, coil.a, coil.b, PRIMARY_OHM_PER_V * coil.turns)


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
