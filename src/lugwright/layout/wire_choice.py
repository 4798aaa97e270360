"""Which wire: type by volts, amps and class; color by class; insulation to strip by terminal.

Colors follow the RMA chassis wiring code (RS-336, as printed in a drafting course): black ground,
brown heaters, red B+, orange screens, yellow cathodes, green grids, blue plates, violet bias, gray
mains, white the rest. Heaters are brown and not green, so that green with yellow stays what it must
be: protective earth and nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.buildfile.build import EARTH
from lugwright.catalogue.records import WireType
from lugwright.errors import PlanError
from lugwright.layout.joint_classes import JointFacts
from lugwright.layout.results import PlanTerminal

COLORS = {
    "ground": "black", "heater": "brown", "B+": "red", "screen": "orange", "cathode": "yellow", "grid": "green",
    "plate": "blue", "output plate": "blue", "bias": "violet", "mains": "gray", "signal": "white", "speaker": "white",
    "earth": "green-yellow",
}  # fmt: skip
# Gauge a class asks for when amps do not: thick where it carries amps, thin where it must be supple.
WANTED_AWG = {"heater": 18, "mains": 18, "earth": 18, "ground": 20, "B+": 22, "speaker": 20}
USUAL_AWG = 22
WANTED_KIND = {"mains": "mains", "earth": "mains"}
HIGH_V = 150.0  # above this a wire can see B+ and needs a 600 V style, or better where the volts ask for it
HIGH_STYLE_V = 600.0
HIGH_CLASSES = ("B+", "screen", "plate", "output plate", "mains", "earth")
STRIP_MM = {"lug": 8.0, "foot": 8.0, "pot": 6.0, "jack": 6.0, "panel": 6.0, "can": 8.0, "bus": 8.0, "bolt": 10.0,
            "exit": 0.0}  # fmt: skip
STRIP_SMALL_PIN_MM, STRIP_OCTAL_PIN_MM = 5.0, 7.0


def wire_class(facts: JointFacts, other: JointFacts | None = None) -> str:
    """Return the class that decides about a wire; a bond to the metal is earth only if earth is in it."""
    if facts.name == "earth" and facts.joint != EARTH:
        return "ground" if other is None or other.joint != EARTH else "earth"
    return facts.name


def choose_wire(wires: Sequence[WireType], *, name: str, volts: float, amps: float, shielded: bool = False) -> WireType:
    """Return the wire type for a class, working volts and amps; PlanError when the catalogue has none.

    The thinnest shielded one where a shield is wanted: it has to find its way between parts.
    """
    least_v = max(volts, HIGH_STYLE_V if volts > HIGH_V or name in HIGH_CLASSES else 1.0)
    wanted = WANTED_AWG.get(name, USUAL_AWG)
    kind = WANTED_KIND.get(name, "solid")
    fit = [w for w in wires if w.insulation_v >= least_v and w.max_a >= amps and w.kind != "bare"]
    fit = [w for w in fit if (w.kind == "shielded") == shielded]
    if name != "mains":
        fit = [w for w in fit if "mains" not in w.name]
    if name != "earth":
        fit = [w for w in fit if "earth" not in w.name]
    if not fit:
        raise PlanError(
            what=f"no {'shielded ' if shielded else ''}wire in the catalogue for {name}",
            found=f"{volts:.0f} V and {amps:.2f} A on one wire",
            wanted=f"insulation for {least_v:.0f} V and copper for {amps:.2f} A",
            do=_instead(wires, least_v),
        )
    if shielded:
        return min(fit, key=lambda w: (w.outside_mm, w.name))
    return min(fit, key=lambda w: (_marked(w, name), w.kind != kind, abs(w.awg - wanted), w.insulation_v, w.name))


def _instead(wires: Sequence[WireType], least_v: float) -> str:
    if any(wire.insulation_v >= least_v for wire in wires):
        return "add such a wire type to the catalogue, or split the load"
    return "add a wire type made for such volts to the catalogue, or lower them"


def _marked(wire: WireType, name: str) -> int:
    return int(name == "earth" and "earth" not in wire.name)


def strip_mm(terminal: PlanTerminal, *, pin_count: int) -> float:
    """Return how much insulation to take off at a terminal.

    Parameters
    ----------
    terminal : PlanTerminal
        Where the wire ends.
    pin_count : int
        Pins of the socket, when the terminal is a pin. [-]

    Returns
    -------
    float
        Clearance, path through the eye and wrap together. [mm]

    Source
    ------
    Common practice: noval pin 5 to 6 mm, octal pin 7 to 8 mm, lug 8 mm, pot lug 6 to 7 mm.
    """
    if terminal.kind == "pin":
        return STRIP_OCTAL_PIN_MM if pin_count == 8 else STRIP_SMALL_PIN_MM
    return STRIP_MM[terminal.kind]
