"""What a build file means once it is read: every part with its values filled in and its joints resolved.

Everything after reading (circuit, layout, charts, book) works from these records and never from the text.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from lugwright.catalogue.records import Body, Specimen, TubeType
from lugwright.findings import Place

GROUND, CHASSIS, EARTH = "ground", "chassis", "earth"
MAINS_SPREAD = 0.03  # of the wall on the day, where nobody has measured it
TURNS_SPREAD = 0.02  # of a winding's volts: the transformer's own tolerance and the meter's
NOWHERE = Place("")
COPPER_SPREAD = 0.05  # of a winding's ohms, assumed: specimen and a warmer room, 0.4 percent for each kelvin


@dataclass(frozen=True)
class Terminal:
    """One point of a part. ``str()`` is how a person writes it: ``V1a.plate``, ``R3.1``, ``T1.hv.2``."""

    part: str
    name: str
    joint: str
    section: str = ""  # "a", "b" of a double tube, else ""
    pins: tuple[int, ...] = ()  # socket pins, for tubes

    def __str__(self) -> str:
        """Return the terminal as it is written in a build file."""
        return f"{self.part}{self.section}.{self.name}"


@dataclass(frozen=True)
class Resistor:
    """Terminals 1, 2."""

    ohm: float
    tolerance: float
    watts: float
    limiting_v: float
    body: Body
    style: str = "metal film"


@dataclass(frozen=True)
class Capacitor:
    """Terminals 1, 2; a polar one has terminal 1 positive. style: film, ceramic, mica, electrolytic."""

    farad: float
    tolerance: float
    volts: float
    style: str
    body: Body

    @property
    def polar(self) -> bool:
        """Return whether terminal 1 must stay positive."""
        return self.style == "electrolytic"


@dataclass(frozen=True)
class Can:
    """Multi-section electrolytic: terminals a, b, c, ... (positive) and minus."""

    farads: tuple[float, ...]
    tolerance: float
    volts: float
    body: Body


@dataclass(frozen=True)
class Pot:
    """Terminals 1 (counterclockwise end), 2 (wiper), 3; with a switch also s1, s2.

    ``setting`` is the share of rotation; ``taper``: linear, audio, reverse audio.
    ``rheostat`` pots are wired with two terminals only.
    """

    ohm: float
    tolerance: float
    taper: str
    setting: float
    watts: float
    label: str
    switch_closed: bool | None = None


@dataclass(frozen=True)
class Choke:
    """Terminals 1, 2. A swinging one has ``henry`` at ``amps`` and ``light_h`` without direct current."""

    henry: float
    ohm: float
    amps: float
    light_h: float = 0.0  # 0: does not swing
    copper_spread: float = field(default=COPPER_SPREAD, repr=False)  # no plan depends on it


@dataclass(frozen=True)
class Winding:
    """One winding; ``ends`` are terminal names in order along it, taps between.

    ``turns`` and ``ohms`` have one entry per section between neighboring ends. Turns are relative:
    for a power transformer the no-load volts of each section, for others proportional to turns.
    ``impedances_ohm``, where the winding is described by them: from the first end to each following one.
    """

    name: str
    ends: tuple[str, ...]
    turns: tuple[float, ...]
    ohms: tuple[float, ...]
    amps: float | None
    colors: tuple[str, ...]
    impedances_ohm: tuple[float, ...] = ()
    turns_spread: float = field(default=TURNS_SPREAD, repr=False)  # no plan depends on how well it is known
    copper_spread: float = field(default=COPPER_SPREAD, repr=False)


@dataclass(frozen=True)
class Transformer:
    """Windings on one core; terminals are named winding.end. role: power, output, interstage, reverb.

    ``magnetizing_h`` is seen from the whole first winding, ``leakage_h`` from the whole first winding
    with the others shorted.
    """

    role: str
    windings: tuple[Winding, ...]
    magnetizing_h: float
    leakage_h: float


@dataclass(frozen=True)
class Diode:
    """Terminals anode, cathode. A Zener has ``zener_v``."""

    inverse_v: float
    amps: float
    zener_v: float | None
    watts: float
    body: Body


@dataclass(frozen=True)
class Bridge:
    """Four diodes: terminals ac1, ac2, plus, minus."""

    inverse_v: float
    amps: float


@dataclass(frozen=True)
class Tube:
    """A tube in its socket; terminals per `TubeType.terminals`."""

    type: TubeType
    socket: str
    measured: Mapping[str, Specimen] = field(default_factory=dict)  # by section letter; none: as published


@dataclass(frozen=True)
class Jack:
    """Terminals tip, sleeve, and with a switch: tip_switch (closed to tip with no plug in)."""

    isolated: bool
    switched: bool
    plug_in: bool
    label: str


@dataclass(frozen=True)
class Switch:
    """Terminals per pole p (1, 2, ...): p.common, p.1, p.2, ...; one throw per named position."""

    poles: int
    positions: tuple[str, ...]
    position: str  # as set
    label: str
    volts: float
    amps: float


@dataclass(frozen=True)
class Fuse:
    """Terminals 1, 2. speed: slow or fast."""

    amps: float
    speed: str
    volts: float
    ohm: float


@dataclass(frozen=True)
class Lamp:
    """Pilot lamp: terminals 1, 2."""

    volts: float
    amps: float


@dataclass(frozen=True)
class Thermistor:
    """Inrush limiter: terminals 1, 2. hot_ohm at hot_a; ``fit``: X and Y of ohms = X amps^Y, from ``fit_from_a`` on."""

    cold_ohm: float
    hot_ohm: float
    hot_a: float
    fit: tuple[float, float] | None = None
    fit_from_a: float | None = None


@dataclass(frozen=True)
class Inlet:
    """Mains inlet or cord: terminals line, neutral, earth."""

    cord: bool


@dataclass(frozen=True)
class Speaker:
    """Terminals plus, minus."""

    ohm: float
    watts: float


@dataclass(frozen=True)
class Tank:
    """Reverb tank: terminals in, in_ground, out, out_ground. Impedances at 1 kHz."""

    input_ohm: float
    output_ohm: float


@dataclass(frozen=True)
class Bond:
    """A wire the builder states: terminals 1, 2 stay two joints, joined by this wire."""

    purpose: str


Fitted = (
    Resistor | Capacitor | Can | Pot | Choke | Transformer | Diode | Bridge | Tube | Jack | Switch | Fuse | Lamp
    | Thermistor | Inlet | Speaker | Tank | Bond
)  # fmt: skip


@dataclass(frozen=True)
class Part:
    """One part as fitted: ``values`` is the record of its kind."""

    name: str  # R3
    kind: str  # the word a person writes: resistor, capacitor, tube, ...
    stage: str
    values: Fitted
    terminals: tuple[Terminal, ...]
    place: Place
    note: str = ""

    def terminal(self, name: str, section: str = "") -> Terminal:
        """Return the terminal of that name; KeyError when the part has none."""
        for terminal in self.terminals:
            if terminal.name == name and terminal.section == section:
                return terminal
        raise KeyError(f"{self.name}.{name}")


@dataclass(frozen=True)
class Stage:
    """A group of parts that do one thing, in the signal's order."""

    name: str
    title: str
    duty: str  # input, gain, tone, inverter, output, supply, bias, heater, reverb, tremolo, mains, ...
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Placement:
    """Where a part stands. ``at``: mm (x, y) on the plate, or (x along, z above plate) on a panel.

    ``panel``: plate, front, rear, left, right. ``turn`` is clockwise seen from the wiring side.
    """

    at: tuple[float, float]
    turn: float = 0.0
    panel: str = "plate"
    place: Place | None = None


@dataclass(frozen=True)
class Strip:
    """A terminal strip; lugs count 1..lugs along its turn direction, feet are lug numbers."""

    name: str
    lugs: int
    feet: tuple[int, ...]
    at: tuple[float, float]  # center of lug 1, mm
    turn: float  # 0: lugs run to the right; 90: down (clockwise seen from the wiring side)
    type: str
    place: Place | None = None


@dataclass(frozen=True)
class Bus:
    """A bare ground wire from one point to another, ``joint`` is what it carries."""

    name: str
    joint: str
    points: tuple[tuple[float, float], ...]
    height_mm: float
    place: Place | None = None


@dataclass(frozen=True)
class Star:
    """A ring of lugs about one insulated screw where every return of a joint lands with its own wire."""

    name: str
    joint: str
    at: tuple[float, float]
    lugs: int
    height_mm: float
    place: Place | None = None


@dataclass(frozen=True)
class OpenStrip:
    """A strip the builder wants and leaves the program to place; None where that is open too."""

    name: str
    lugs: int | None
    feet: tuple[int, ...] | None
    turn: float | None
    type: str
    place: Place | None = None


@dataclass(frozen=True)
class OpenBus:
    """A bus the program is to find the points of."""

    name: str
    joint: str
    height_mm: float


@dataclass(frozen=True)
class LeftOpen:
    """What the builder leaves to the program; ``any_strips``: as many strips as the build needs."""

    strips: tuple[OpenStrip, ...] = ()
    any_strips: bool = False
    buses: tuple[OpenBus, ...] = ()

    def __bool__(self) -> bool:
        """Return whether anything is left open."""
        return bool(self.strips or self.any_strips or self.buses)


BUS_HEIGHT_MM = 14.0  # clear of the lugs of strips (11 mm), low enough for a body to lie over it
ALL_OPEN = LeftOpen(any_strips=True, buses=(OpenBus(GROUND, GROUND, BUS_HEIGHT_MM),))


@dataclass(frozen=True)
class Chassis:
    """Inside measures seen from the wiring side: x to the right, y toward the front, z up from the plate.

    The origin is the rear left corner of the plate; the front panel (controls) is nearest the builder.
    """

    width_mm: float
    depth_mm: float
    height_mm: float
    material: str = "aluminum"
    thickness_mm: float = 1.5


@dataclass(frozen=True)
class Wishes:
    """What the builder asks of the plan; terminals by the keys of the plan: ``A.2``, ``V1.3``, ``R5.2``."""

    between: Mapping[str, tuple[str, str]] = field(default_factory=dict)  # part -> its two terminals, in either order
    on: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # joint -> terminals that carry it
    keep_off: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # joint or part -> strips it stays off
    weights: Mapping[str, float] = field(default_factory=dict)  # term of the objective -> factor of its weight
    places: Mapping[str, Place] = field(default_factory=dict)  # "between R3" -> where it is written
    shield: Mapping[str, bool] = field(default_factory=dict)  # joint -> whether its wires are shielded

    def __bool__(self) -> bool:
        """Return whether anything is asked for."""
        return bool(self.between or self.on or self.keep_off or self.weights or self.shield)


@dataclass(frozen=True)
class Build:
    """A whole amplifier: parts, stages, joints, chassis."""

    title: str
    file: str
    mains_v: float
    mains_hz: float
    parts: tuple[Part, ...]
    stages: tuple[Stage, ...]
    joints: Mapping[str, tuple[Terminal, ...]]  # every joint with all its terminals, in file order
    chassis: Chassis | None
    placements: Mapping[str, Placement]
    strips: tuple[Strip, ...]
    buses: tuple[Bus, ...]
    nominal: Mapping[str, float] = field(default_factory=dict)  # e.g. speaker_ohm, lamp_limiter_w
    wishes: Wishes = field(default_factory=Wishes)
    left_open: LeftOpen = LeftOpen()
    stars: tuple[Star, ...] = ()
    mains_spread: float = MAINS_SPREAD  # relative: how far the mains may be off

    @cached_property
    def part_by_name(self) -> Mapping[str, Part]:
        """Return the parts by designator."""
        return {part.name: part for part in self.parts}

    @property
    def strip_names(self) -> tuple[str, ...]:
        """Return the names of all strips, those left open too."""
        return (*(strip.name for strip in self.strips), *(strip.name for strip in self.left_open.strips))

    def part(self, name: str) -> Part:
        """Return the part of that name; KeyError when there is none."""
        return self.part_by_name[name]

    def without_metal(self) -> Build:
        """Return what the circuit alone depends on: no metal, no wishes, neither its name nor its place."""
        return replace(
            self, title="", file="", chassis=None, placements={}, strips=(), buses=(), stars=(), wishes=Wishes(),
            left_open=LeftOpen(), parts=tuple(replace(part, place=NOWHERE, note="") for part in self.parts),
        )  # fmt: skip
