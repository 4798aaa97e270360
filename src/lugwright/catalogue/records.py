"""What the catalogue knows of a type: tubes, sockets, strips, wire, part bodies, panel parts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lugwright.sources import Source


@dataclass(frozen=True)
class Figure:
    """One figure and where it comes from."""

    value: float
    source: Source


@dataclass(frozen=True)
class TriodeLaw:
    """Parameters of one triode system; the equations are in ``circuit/tubes/triode.py``. [V, A]"""

    mu: float
    k: float
    kp: float
    vct: float
    tail_share: float = 0.0
    tail_mu_ratio: float = 1.0
    kvb: float = 300.0
    power: float = 1.5
    soft_v: float = 0.0
    grid_gain: float = 6e-4


@dataclass(frozen=True)
class PentodeLaw:
    """Parameters of a pentode or beam tetrode; equations in ``circuit/tubes/pentode.py``. [V, A]"""

    mu: float
    k: float
    kp: float
    vct: float
    rho: float
    slope: float
    alpha_s: float
    beta: float
    kvb: float = 20.0
    grid_gain: float = 1e-3


@dataclass(frozen=True)
class RectifierLaw:
    """Perveance of one plate of a vacuum rectifier, I = perveance * V**1.5. [A/V^1.5]"""

    perveance: float


TubeLaw = TriodeLaw | PentodeLaw | RectifierLaw


@dataclass(frozen=True)
class Specimen:
    """One measured tube against the published average of its type; all ones and 0 V is the average itself.

    The factors act on the parameters of the type's law, see ``circuit/tubes/specimen.py``.
    """

    emission: float = 1.0  # current at the same drive
    amplification: float = 1.0  # volts of plate (of screen in a pentode) that one grid volt outweighs
    shift_v: float = 0.0  # added to the grid's own volts [V]
    cutoff: float = 1.0  # how sharply it cuts off
    screen: float = 1.0  # the screen's share of the current
    plate_slope: float = 1.0  # how much the current still rises with plate volts above the knee
    knee: float = 1.0  # above 1: the knee stands at fewer plate volts


def adjustments_of(law: TubeLaw) -> tuple[str, ...]:
    """Return the fields of `Specimen` that mean something for a law."""
    if isinstance(law, RectifierLaw):
        return ("emission",)
    triode = ("emission", "amplification", "shift_v", "cutoff")
    return triode if isinstance(law, TriodeLaw) else (*triode, "screen", "plate_slope", "knee")


@dataclass(frozen=True)
class TubeSection:
    """One system in a glass: ``letter`` is "a", "b" or "" for a tube with one system.

    ``pins`` maps electrode names (plate, grid, screen, suppressor, shield, cathode; plate1 and plate2 for a
    full-wave rectifier) to the socket pins that carry them.
    """

    letter: str
    pins: Mapping[str, tuple[int, ...]]


@dataclass(frozen=True)
class Capacitances:
    """What stands between the electrodes of one section inside the glass, cold, without socket. [F]

    ``grid_plate_f`` is the direct capacitance. On sheets of pentodes and beam tetrodes ``grid_cathode_f`` is the
    *input* capacitance, grid to cathode, heater, screen and suppressor together, and ``plate_cathode_f`` the
    *output* capacitance, plate to the same: that is what a circuit sees whose screen stands still for signals.
    Of triodes they are grid and plate to cathode (heater included on most sheets). A figure not known is None.
    """

    grid_plate_f: Figure | None = None
    grid_cathode_f: Figure | None = None
    plate_cathode_f: Figure | None = None
    heater_cathode_f: Figure | None = None
    grid_heater_f: Figure | None = None


@dataclass(frozen=True)
class Heater:
    """The heater or filament. ``pins``: heater1, heater2 and, where there is one, heater_tap.

    With a tap each half takes ``volts`` and ``amps / 2`` when the halves are in parallel.
    """

    volts: float
    amps: float
    pins: Mapping[str, int]
    source: Source
    is_cathode: bool = False  # filament or heater joined to the cathode inside
    filament: bool = False  # itself the cathode: up in seconds


@dataclass(frozen=True)
class TubeType:
    """A tube type. ``limits`` keys are the names in `TUBE_LIMITS`; an unknown limit is left out."""

    name: str
    aliases: tuple[str, ...]
    kind: str  # double triode, triode, pentode, beam tetrode, rectifier
    socket: str
    sections: tuple[TubeSection, ...]
    heater: Heater
    limits: Mapping[str, Figure]
    law: TubeLaw | None
    law_source: Source | None
    spread: float  # relative plate-current spread between specimens (0.2 = +/-20 %)
    sources: Mapping[str, Source] = field(default_factory=dict)
    idle_figures: tuple[Mapping[str, float], ...] = ()  # published points, for plots and tests
    # Rectifiers, capacitor input: mains_hz, plate_rms_v, output_a, least supply_ohm per plate, reservoir_f, output_v.
    supply_rows: tuple[Mapping[str, float], ...] = ()
    # Published resistance-coupled stages: supply_v, plate_ohm, next_ohm, cathode_ohm, plate_a, gain; of pentodes
    # also screen_ohm, and cathode_a instead of plate_a; output_rms_v and the distortion there where it is printed.
    coupled_stages: tuple[Mapping[str, float], ...] = ()
    # Published full-drive figures: plate_v, screen_v, grid_v, peak drive_v per grid, load_ohm (plate to plate
    # for a pair), average plate_a and screen_a (or both together, cathode_a) of one tube, power_w, tubes (1, or 2 in
    # push-pull), distortion, tap (the share of the half winding between B+ and the screen of an ultralinear pair).
    full_drive: tuple[Mapping[str, float], ...] = ()
    rating_system: str = ""  # design-center (nominal conditions), design-maximum or absolute (never above)
    notes: tuple[str, ...] = ()  # what a builder should know of the figures
    capacitances: Mapping[str, Capacitances] = field(default_factory=dict)  # by section letter; none for rectifiers
    power_doubt: str | None = None  # why its law promises no power (a rectifier's: no volts under load), in words

    def terminals(self) -> tuple[tuple[str, str, tuple[int, ...]], ...]:
        """Return (section letter, electrode, pins) of every electrode, heater included (letter "")."""
        electrodes = [(s.letter, name, pins) for s in self.sections for name, pins in s.pins.items()]
        return (*electrodes, *(("", name, (pin,)) for name, pin in self.heater.pins.items()))


TUBE_LIMITS = (
    "plate_w", "screen_w", "plate_v", "screen_v", "plate_cold_v", "screen_cold_v", "cathode_a", "grid_negative_v",
    "heater_cathode_v", "grid_ohm_fixed", "grid_ohm_self",
    "inverse_v", "plate_peak_a", "output_a", "reservoir_f", "plate_rms_v", "supply_ohm",
)  # fmt: skip


@dataclass(frozen=True)
class SocketType:
    """A tube socket. Pins count clockwise seen from the wiring side, starting after the key or gap."""

    name: str
    pin_count: int
    pin_circle_mm: float
    pin_step_deg: float  # angle between neighboring pins
    first_pin_deg: float  # angle of pin 1 clockwise from the key or gap
    hole_mm: float
    fixing_centers_mm: float
    fixing_hole_mm: float
    lug_height_mm: float  # solder point above the chassis plate, wiring side
    leads_per_pin: int
    source: Source
    figures: Mapping[str, Source] = field(default_factory=dict)  # where each figure comes from, by its name


@dataclass(frozen=True)
class StripType:
    """A terminal strip: a row of lugs at one pitch; a lug with a foot is bolted to the metal."""

    name: str
    pitch_mm: float
    lug_width_mm: float
    lug_height_mm: float
    board_width_mm: float
    foot_hole_mm: float
    leads_per_lug: int
    creepage_group: str  # IEC 60664-1 material group: I, II, III
    source: Source
    figures: Mapping[str, Source] = field(default_factory=dict)  # where each figure comes from, by its name


@dataclass(frozen=True)
class WireType:
    """Wire off the reel. ``kind``: solid, stranded, bare, shielded, mains."""

    name: str
    kind: str
    awg: int
    conductor_mm: float
    outside_mm: float
    insulation_v: float  # 0 for bare wire
    temperature_c: float
    max_a: float
    ohm_per_m: float
    insulation: str
    source: Source
    figures: Mapping[str, Source] = field(default_factory=dict)  # where each figure comes from, by its name


@dataclass(frozen=True)
class Body:
    """The body of a part with two leads, lying; or of a can, standing (then length is its height)."""

    diameter_mm: float
    length_mm: float
    lead_mm: float  # lead wire diameter
    grams: float
    source: Source


@dataclass(frozen=True)
class BodyRow:
    """Catalogue row: parts of ``kind`` up to this rating have this body (and this limiting voltage)."""

    kind: str  # e.g. "metal film resistor", "film capacitor", "axial electrolytic", "can"
    watts: float
    farad: float
    volts: float  # limiting voltage of a resistor, rated voltage of a capacitor
    tolerance: float  # relative, of such parts unless stated
    body: Body


@dataclass(frozen=True)
class PanelPart:
    """A pot, jack, switch, fuse holder, lamp holder, inlet: its hole, and where its lugs stand.

    ``lugs`` maps a terminal name to (along, out, height): millimeters along the panel (to the right
    seen from inside), into the chassis, and above the shaft or hole center.
    """

    name: str
    hole_mm: float
    lugs: Mapping[str, tuple[float, float, float]]
    leads_per_lug: int
    depth_mm: float
    width_mm: float
    source: Source
    extra_holes: tuple[tuple[float, float, float], ...] = ()  # along, height, diameter
    cutout_mm: tuple[float, float] | None = None  # width, height; hole_mm is then the round hole inside it
    figures: Mapping[str, Source] = field(default_factory=dict)  # where each figure comes from, by its name
