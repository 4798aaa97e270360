"""What the planner decided: terminals, lugs, seated parts, wires. Records only; nothing here calculates.

Keys of terminals: ``V1.3`` (socket pin), ``A.4`` (strip A, lug 4), ``R7.2`` (pot lug), ``J1.tip``,
``C9.a`` (can lug), ``T1.hv.2`` (transformer lead where it leaves its grommet), ``bus.3`` (point 3 on a
ground bus), ``chassis.1`` (a bolt in the metal).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lugwright.buildfile.build import Bus, Strip


@dataclass(frozen=True)
class PlanTerminal:
    """A point that leads and wires are soldered to. x to the right, y toward the front, z above the plate."""

    key: str
    owner: str  # part, strip or bus it belongs to
    kind: str  # pin, lug, foot, pot, jack, can, exit, bus, bolt, panel
    x_mm: float
    y_mm: float
    z_mm: float
    joint: str  # "" for a spare lug
    capacity: int  # most leads it takes
    label: str  # as printed: "V1 pin 3", "strip A lug 4", "T1 red lead"


@dataclass(frozen=True)
class SeatedPart:
    """A two-lead part and the two terminals its leads go to, first terminal first."""

    part: str
    terminals: tuple[str, str]
    lead_names: tuple[str, str]  # terminal names of the part: ("1", "2"), ("anode", "cathode")
    layer: int  # 1 lowest
    body_length_mm: float
    body_diameter_mm: float
    z_mm: float  # height of the body's axis above the plate
    span_mm: float


@dataclass(frozen=True)
class Wire:
    """One wire (or a part's own flying lead) between two terminals."""

    number: int
    joint: str
    terminals: tuple[str, str]
    kind: str  # heater, mains, B+, ground, bias, plate, grid, cathode, signal, speaker, earth
    type: str  # wire type of the catalogue; "lead" for a transformer's own lead
    color: str
    route: tuple[tuple[float, float, float], ...]  # mm, from the first terminal to the second
    length_mm: float  # cut length, slack and twist included
    strip_mm: tuple[float, float]  # insulation to take off at each end
    twist: str  # name of the twisted pair it belongs to, or ""
    lies_over: tuple[str, ...]  # parts and wires ("W12") this wire crosses over
    bond: str = ""  # the Bond part this wire is; then it runs from `joint` to the bond's other joint
    shield: str = ""  # where its braid is soldered; at the other end the braid is cut back and sleeved
    jacket_mm: tuple[float, float] = (0.0, 0.0)  # jacket (and braid) to take off at each end of a shielded wire


@dataclass(frozen=True)
class StripUse:
    """A strip of the build and what its plan makes of it; ``proposed``: the build file leaves it open."""

    name: str
    lugs: int
    feet: tuple[int, ...]
    at: tuple[float, float]  # mm
    turn: float
    type: str
    proposed: bool
    used: int
    spare: int
    joints: tuple[str, ...]


@dataclass(frozen=True)
class BusUse:
    """A bus of the build, and how many leads and wires end on it."""

    name: str
    joint: str
    points: tuple[tuple[float, float], ...]
    height_mm: float
    proposed: bool
    leads: int


@dataclass(frozen=True)
class Move:
    """What planning again has changed: a part or a wire, from where to where, and why."""

    what: str  # "R3", "W12"
    kind: str  # "part" or "wire"
    before: str  # "strip A lug 2 to V1 pin 1"; "" for what is new
    after: str  # "" for what is gone
    why: str


@dataclass(frozen=True)
class PutPart:
    """A part that the builder hangs between two other terminals."""

    part: str
    ends: tuple[str, str]


@dataclass(frozen=True)
class PutStrip:
    """A strip whose lug 1 the builder puts somewhere else, or that is turned."""

    strip: str
    at: tuple[float, float]  # mm
    turn: float  # as of a `Strip`


Put = PutPart | PutStrip


@dataclass(frozen=True)
class Plan:
    """A whole lug plan."""

    build: str  # title
    terminals: Mapping[str, PlanTerminal]
    seats: tuple[SeatedPart, ...]
    wires: tuple[Wire, ...]
    spare_lugs: tuple[str, ...]
    cost: Mapping[str, float]  # term of the objective -> its weighted share
    seconds: float = 0.0
    notes: tuple[str, ...] = ()
    fingerprint: str = ""  # of everything in the build that a plan depends on
    strips: tuple[Strip, ...] = ()  # those the build file leaves to the program
    buses: tuple[Bus, ...] = ()

    def leads_at(self, key: str) -> tuple[str, ...]:
        """Return what is soldered at a terminal: ``R3.1``, ``W12``, ``W12 braid`` ..., in plan order."""
        return tuple(self._leads.get(key, ()))

    @cached_property
    def _leads(self) -> Mapping[str, list[str]]:
        leads: dict[str, list[str]] = {}
        for seat in self.seats:
            for key, name in zip(seat.terminals, seat.lead_names, strict=True):
                leads.setdefault(key, []).append(f"{seat.part}.{name}")
        for wire in self.wires:
            for key in dict.fromkeys(wire.terminals):
                leads.setdefault(key, []).append(f"W{wire.number}")
        for wire in self.wires:
            if wire.shield:
                leads.setdefault(wire.shield, []).append(f"W{wire.number} braid")
        return leads
