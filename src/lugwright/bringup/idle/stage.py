"""The output stage as somebody with a meter sees it: what each electrode stands on, what its current flows through."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lugwright.bringup.bench_points import socket_points
from lugwright.bringup.fitting import FIXED_BIAS_BELOW_V, output_tubes
from lugwright.bringup.good_builds import section_spreads
from lugwright.buildfile.build import GROUND, Build, Part, Tube
from lugwright.buildfile.build import Resistor as FittedResistor
from lugwright.circuit.elements import Coil, PentodeTube, Resistor, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle

SENSE_UP_TO_OHM = 12.0  # a cathode resistor this small is there to be read, not to bias
COPPER_TOLERANCE = 0.02  # of a winding that somebody measured, from memory of ohmmeters


@dataclass(frozen=True)
class Path:
    """Something a tube's current flows through, so that the volts across it tell that current."""

    name: str  # "R41", "T2 primary"
    elements: tuple[str, ...]
    high: str  # the joint the current comes from
    low: str
    ohm: float
    tolerance: float
    tubes: tuple[str, ...]  # whose current flows through it
    winding: bool = False
    printed_ohm: float = 0.0  # what is written on a resistor, whatever was measured
    printed_tolerance: float = 0.0


@dataclass(frozen=True)
class OutputTube:
    """One output tube, its joints and what can be read at it."""

    part: Part
    plate: str
    screen: str
    grid: str
    cathode: str
    sense: Path | None  # small resistor at the cathode
    bias: Path | None  # cathode resistor that biases
    screen_resistor: Path | None
    primary: Path | None
    spread: float

    @property
    def name(self) -> str:
        """Return the designator."""
        return self.part.name

    @property
    def feed(self) -> str:
        """Return the B+ joint its plate is fed from."""
        return self.primary.high if self.primary else self.plate

    @property
    def read_over(self) -> Path | None:
        """Return what its cathode current is read over."""
        return self.sense or self.bias

    @property
    def read_low(self) -> str:
        """Return where the black lead goes for the reading at the cathode."""
        return self.sense.low if self.sense else GROUND

    @property
    def plate_limit_w(self) -> float:
        """Return the plate limit of its type. [W]"""
        return self.limits["plate_w"]

    @property
    def limits(self) -> dict[str, float]:
        """Return the limits of its type by name."""
        if not isinstance(self.part.values, Tube):
            raise TypeError(f"{self.part.name} is a {self.part.kind}, not a tube")
        return {name: figure.value for name, figure in self.part.values.type.limits.items()}

    @property
    def rating_system(self) -> str:
        """Return how its limits are meant: design-center, design-maximum, absolute."""
        return self.part.values.type.rating_system if isinstance(self.part.values, Tube) else ""

    def pin(self, electrode: str) -> str:
        """Return where an electrode is read, in a builder's words."""
        return next(point.words for point in socket_points(self.part) if point.electrode == electrode)


@dataclass(frozen=True)
class Stage:
    """The output tubes of a build."""

    build: Build
    circuit: Circuit
    tubes: tuple[OutputTube, ...]
    fixed: bool

    def tube(self, name: str) -> OutputTube:
        """Return the tube of that name; KeyError where it is none."""
        for tube in self.tubes:
            if tube.name == name:
                return tube
        raise KeyError(name)

    @property
    def paths(self) -> tuple[Path, ...]:
        """Return everything that currents can be read over."""
        found = [p for t in self.tubes for p in (t.sense, t.bias, t.screen_resistor, t.primary) if p is not None]
        return tuple({(path.high, path.low): path for path in found}.values())

    def path_between(self, red: str, black: str) -> Path | None:
        """Return what a reading between two joints is read over; None where it is no such thing."""
        return next((path for path in self.paths if (path.high, path.low) == (red, black)), None)

    @property
    def sides(self) -> tuple[tuple[str, ...], ...]:
        """Return the tubes that share a plate joint, side by side."""
        found: dict[str, list[str]] = {}
        for tube in self.tubes:
            found.setdefault(tube.plate, []).append(tube.name)
        return tuple(tuple(names) for names in found.values())


def output_stage(build: Build, circuit: Circuit, idle: Idle, printed: Build | None = None) -> Stage | None:
    """Return the output stage, or None where no output tube is; ``printed`` is the build without measured values."""
    parts = output_tubes(build)
    elements = {e.name: e for e in circuit.elements if isinstance(e, PentodeTube)}
    missing = next((part.name for part in parts if part.name not in elements), None)
    if missing is not None:
        raise TypeError(f"{missing} has no pentode equations")
    if not parts:
        return None
    spreads = dict(section_spreads(build, circuit))
    grids = {elements[part.name].grid for part in parts} - {GROUND}
    paths = _Paths(build, printed or build, circuit, idle)
    tubes = tuple(_tube(paths, part, elements[part.name], spreads[part.name]) for part in parts)
    return Stage(build, circuit, tubes, any(idle.joints[joint].volts < FIXED_BIAS_BELOW_V for joint in grids))


@dataclass(frozen=True)
class _Paths:
    """Finds what a tube's currents flow through."""

    build: Build
    printed: Build
    circuit: Circuit
    idle: Idle

    def resistor(self, element: Resistor, low: str, high: str, tubes: tuple[str, ...]) -> Path:
        """Return a resistor as a path, with what was measured of it and what is printed on it."""
        now, printed = (_values(build, element.name) for build in (self.build, self.printed))
        tolerance = now.tolerance if now else 0.0
        return Path(
            element.name, (element.name,), high, low, element.ohm, tolerance, tubes,
            printed_ohm=printed.ohm if printed else element.ohm,
            printed_tolerance=printed.tolerance if printed else tolerance,
        )  # fmt: skip


def _values(build: Build, name: str) -> FittedResistor | None:
    part = build.part_by_name.get(name)
    return part.values if part is not None and isinstance(part.values, FittedResistor) else None


def _tube(paths: _Paths, part: Part, element: PentodeTube, spread: float) -> OutputTube:
    sense = _sense(paths, element)
    return OutputTube(
        part, element.plate, element.screen, element.grid, element.cathode, sense,
        _bias(paths, sense.low if sense else element.cathode), _screen_resistor(paths, element),
        _primary(paths.circuit, paths.idle, element.plate), spread,
    )  # fmt: skip


def _resistors(circuit: Circuit, joint: str) -> Iterator[tuple[Resistor, str]]:
    """Yield the plain resistors at a joint, each with the joint at its other end."""
    for e in circuit.elements:
        if isinstance(e, Resistor) and e.role == "part" and joint in e.joints and "." not in e.name:  # a dot: of a pot
            yield e, e.joints[1] if e.joints[0] == joint else e.joints[0]


def _cathodes(circuit: Circuit, joint: str) -> tuple[str, ...]:
    return tuple(e.name for e in circuit.elements if isinstance(e, PentodeTube) and e.cathode == joint)


def _sense(paths: _Paths, tube: PentodeTube) -> Path | None:
    """Return the small resistor from this cathode alone, to ground or to a bias resistor, where there is one."""
    circuit = paths.circuit
    if len(_cathodes(circuit, tube.cathode)) != 1:
        return None
    found = next(((e, low) for e, low in _resistors(circuit, tube.cathode) if e.ohm <= SENSE_UP_TO_OHM), None)
    return paths.resistor(*found, tube.cathode, (tube.name,)) if found else None


def _bias(paths: _Paths, joint: str) -> Path | None:
    """Return the resistor from a cathode, or from the foot of its small resistor, to ground."""
    circuit = paths.circuit
    found = next(
        ((e, low) for e, low in _resistors(circuit, joint) if low == circuit.ground and e.ohm > SENSE_UP_TO_OHM), None
    )
    if found is None:
        return None
    above = (low for e, low in _resistors(circuit, joint) if e.ohm <= SENSE_UP_TO_OHM)
    tubes = [*_cathodes(circuit, joint), *(name for low in above for name in _cathodes(circuit, low))]
    return paths.resistor(*found, joint, tuple(sorted(dict.fromkeys(tubes))))


def _screen_resistor(paths: _Paths, tube: PentodeTube) -> Path | None:
    """Return the resistor that feeds this screen alone."""
    circuit = paths.circuit
    screens = [e for e in circuit.elements if isinstance(e, PentodeTube) and e.screen == tube.screen]
    fed = [(e, other) for e, other in _resistors(circuit, tube.screen) if other != circuit.ground]
    if len(screens) != 1 or len(fed) != 1 or tube.screen == tube.plate:
        return None
    element, feed = fed[0]
    return paths.resistor(element, tube.screen, feed, (tube.name,))


def _primary(circuit: Circuit, idle: Idle, plate: str) -> Path | None:
    """Return the winding from a plate to where it is fed: the joint along it that stands highest."""
    for windings in (e for e in circuit.elements if isinstance(e, Windings)):
        reached = _along(windings.coils, plate)
        if len(reached) < 2:
            continue
        feed = max(reached, key=lambda joint: idle.joints[joint].volts if joint in idle.joints else 0.0)
        coils = reached[feed]
        if not coils:
            return None
        tubes = tuple(e.name for e in circuit.elements if isinstance(e, PentodeTube) and e.plate == plate)
        name = f"{windings.name} {coils[0].name.split('.')[1]}"
        return Path(
            name, tuple(c.name for c in coils), feed, plate, sum(c.ohm for c in coils), COPPER_TOLERANCE, tubes, True
        )
    return None


def _along(coils: tuple[Coil, ...], start: str) -> dict[str, tuple[Coil, ...]]:
    """Return every joint that can be reached from one along the coils, with the coils on the way."""
    reached: dict[str, tuple[Coil, ...]] = {start: ()}
    waiting = [start]
    while waiting:
        joint = waiting.pop()
        for coil in coils:
            for one, other in ((coil.a, coil.b), (coil.b, coil.a)):
                if one == joint and other not in reached:
                    reached[other] = (*reached[joint], coil)
                    waiting.append(other)
    return reached
