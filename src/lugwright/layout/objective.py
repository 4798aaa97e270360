"""What a plan costs: every weight of the planner with its reason, in one place.

The unit is a millimeter of ordinary wire.
"""

from __future__ import annotations

from typing import NamedTuple

from lugwright.layout.side_by_side import REACH_MM

# Cost of a millimeter of wire by class of its joint.
WIRE_WEIGHT = {
    "grid": 4.0,  # high impedance: every millimeter picks up hum and plate signal
    "signal": 2.5,  # as a grid, with some level on it
    "plate": 2.0,  # radiates into grids, and loses treble to stray capacitance
    "cathode": 2.0,  # cathode parts belong at the socket
    "output plate": 1.5,  # large swing, but thick with signal already: away from grids counts more
    "mains": 1.5,  # keep it in its corner
    "B+": 1.0,
    "screen": 1.0,
    "bias": 1.0,
    "heater": 1.0,
    "speaker": 1.0,
    "ground": 1.0,
    "earth": 1.0,
}
# Two joints on neighboring lugs: about 0.25 pF between them, and heat and solder in between.
NEIGHBOR_PENALTY = {
    ("grid", "heater"): 30.0,  # hum straight into a grid
    ("grid", "output plate"): 30.0,  # the most gain there is to oscillate with
    ("grid", "mains"): 30.0,
    ("grid", "speaker"): 12.0,
    ("grid", "plate"): 12.0,  # Miller feedback or oscillation
    ("grid", "B+"): 4.0,  # leakage over a dirty strip shifts the bias
    ("signal", "mains"): 30.0,
    ("signal", "output plate"): 12.0,
}
# A millimeter of wire in the lane next to a millimeter of another; farther away by the capacitance that is left.
RUN_PENALTY = {
    ("grid", "output plate"): 4.0,  # the most gain there is to oscillate with
    ("grid", "mains"): 3.0,  # hum straight into a grid
    ("grid", "heater"): 3.0,
    ("grid", "speaker"): 2.0,  # as an output plate, at a tenth of its volts
    ("grid", "plate"): 1.5,  # Miller feedback; of a later stage, oscillation
    ("grid", "B+"): 0.5,  # ripple
    ("signal", "output plate"): 2.5,
    ("signal", "mains"): 2.5,
    ("signal", "heater"): 2.0,
    ("signal", "speaker"): 1.0,
    ("signal", "plate"): 0.5,
    ("cathode", "mains"): 1.0,
    ("cathode", "heater"): 1.0,
    ("cathode", "output plate"): 1.0,
    ("bias", "mains"): 1.0,
    ("plate", "mains"): 1.0,
    ("plate", "heater"): 0.5,
}
CROSSING = 3.0  # a wire over another must be lifted to repair the lower one
# Two unfriendly wires that cross at a right angle couple 0.08 to 0.12 pF, as 10 mm side by side.
CROSSING_UNFRIENDLY = 10.0  # times the penalty of a millimeter side by side
BUSY_LUG = 10.0  # for each lead beyond three: the iron must not wake the first when the last goes in
BUSY_FROM = 3
SECOND_LAYER = 25.0  # a part over another must be lifted to repair the lower one
THIRD_LAYER = 80.0
NEW_LUG = 6.0  # a lug used is a lug not spare
TIE_LUG = 30.0  # a lug that carries wires only is bought for a busy joint
LONG_LEAD = 0.3  # per mm of lead beyond 4 mm a side: bare wire sags and touches
SLANT = 1.0  # per mm of a body that lies at 45 degrees, nothing when square: slanted parts hide what is beside them
HOT_NEAR_COLD = 200.0  # a power resistor close to an electrolytic dries it out
HOT_AIR_MM = 5.0
HOT_FROM_W = 2.0
COVERED_LUG = 30.0  # for each lug or pin a body lies over: it cannot be reached any more
COVERED_CAN_LUG = 120.0  # instead, for a can's: there one discharges and measures before anything is touched
PASSED_LUG = 40.0  # for each lug or pin a bare lead comes close to: it needs a sleeve, and a slip of the iron melts it
PANEL_LEAD = 8.0  # a part on a pot or jack must come off when that is changed
FAT_ON_PANEL = 150.0  # an electrolytic tears at a jack, and its return current has no business there
FAT_MM = 7.0  # diameter from which a body counts as fat
BUS_ORDER = 0.5  # per mm a return lands away from its stage's share of the bus
UNPLACED = 1500.0  # a part with no seat: more than any wire could save
BROKEN_LIMIT = 400.0  # a joint left in two pieces

MIN_LEAD_MM = 2.0  # straight lead each side between body and lug (lead-forming practice for axial parts)
MAX_LEAD_MM = 16.0  # bare lead each side; unsupported bare wire is kept below 25 mm
LAYER_STEP_MM = 9.0  # rise from one layer of bodies to the next, while planning
BODY_AIR_MM = 0.8  # least air between two bodies of one layer
LEAD_CLEAR_MM = 2.5  # from the middle of a bare lead to the middle of a lug or pin: half a lug's width
LEAD_AIR_MM = 1.2  # least air between a bare lead and a body


class Term(NamedTuple):
    """A term of the objective: its name in plans and build files, what it costs in words, and why it counts."""

    name: str
    weight: str
    reason: str


_DEAR = ", ".join(f"{kind} {weight:g}" for kind, weight in WIRE_WEIGHT.items() if weight > 1.0)
TERMS = (
    Term("wires", f"1 a mm; {_DEAR}", "wire picks up hum and gives it off, most of all at grids"),
    Term(
        "seats",
        f"{LONG_LEAD:g} a mm of long lead, {SLANT:g} a mm of body askew, {COVERED_LUG:g} a lug lain over, "
        f"{COVERED_CAN_LUG:g} one of a can, "
        f"{PASSED_LUG:g} a lug that a bare lead passes, {BUS_ORDER:g} a mm out of order on the bus, "
        f"{PANEL_LEAD:g} a lead on a pot or jack",
        "bare leads sag, slanted and covering parts are in the way of the iron, returns out of order hum",
    ),
    Term(
        "layers",
        f"{SECOND_LAYER:g} on layer 2, {THIRD_LAYER:g} on layer 3",
        "what lies over a part must be lifted to repair it",
    ),
    Term(
        "neighbors",
        f"4 to {max(NEIGHBOR_PENALTY.values()):g} a pair of lugs",
        "a grid beside a heater, plate or mains hums or sings",
    ),
    Term(
        "detours",
        "as wires, a mm that a route is longer than along and across",
        "around sockets and screws, away from what hums, down to the plate and up again",
    ),
    Term(
        "coupling",
        f"{min(RUN_PENALTY.values()):g} to {max(RUN_PENALTY.values()):g} a mm in the next lane, falling with the "
        f"capacitance, none at {REACH_MM:g} mm",
        "what runs beside a grid wire is heard, or makes the amplifier sing",
    ),
    Term(
        "crossings",
        f"{CROSSING:g} each, {CROSSING_UNFRIENDLY * min(RUN_PENALTY.values()):g} to "
        f"{CROSSING_UNFRIENDLY * max(RUN_PENALTY.values()):g} more between unfriendly wires, thrice that on a slant",
        "the upper wire must be lifted to repair the lower one; at a right angle the least goes over",
    ),
    Term("busy", f"{BUSY_LUG:g} a lead beyond {BUSY_FROM} on a lug", "the first joint melts while the last is made"),
    Term("heat", f"{HOT_NEAR_COLD:g} a pair", f"a power resistor within {HOT_AIR_MM:g} mm dries an electrolytic out"),
    Term("lugs", f"{NEW_LUG:g} a lug, {TIE_LUG:g} more for wires alone", "a lug in use is not spare"),
    Term("unplaced", f"{UNPLACED:g} a part", "every part needs a seat"),
    Term("broken joints", f"{BROKEN_LIMIT:g} a piece", "every joint must be whole"),
)


def neighbor_penalty(a: str, b: str) -> float:
    """Return the cost of two classes on neighboring lugs."""
    return NEIGHBOR_PENALTY.get((a, b), NEIGHBOR_PENALTY.get((b, a), 0.0))


def run_penalty(a: str, b: str) -> float:
    """Return the cost of a millimeter of two classes side by side, touching."""
    return RUN_PENALTY.get((a, b), RUN_PENALTY.get((b, a), 0.0))


def layer_cost(layer: int) -> float:
    """Return the cost of a body on a layer, 1 being the lowest."""
    return (0.0, SECOND_LAYER, THIRD_LAYER)[max(layer, 1) - 1]
