"""What a fault is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lugwright.circuit.rewiring import Rewiring


@dataclass(frozen=True)
class Fault:
    """One thing that may be wrong with this build.

    ``stands`` holds the terminals of the plan that stand on another joint than planned while the fault is
    there: a meter that is put on them reads that joint, or nothing where no element ends on a joint of that name.
    What no meter can tell from the fault stays empty.
    """

    key: str  # stable within a plan: "missing W17", "open R5", "mirrored V2"
    code: str  # identifier of its kind in the table of faults: "F57"
    what: str  # "wire W17, red, from strip B lug 3 to V2 pin 1, is missing"
    do: str  # "solder it in"
    odds: float  # how often builders make it, against others; all odds need not sum to 1
    rewiring: Rewiring
    part: str = ""  # the part it is about
    wires: tuple[int, ...] = ()  # numbers of the planned wires it is about
    terminals: tuple[str, ...] = ()  # keys of the plan's terminals it is about
    stands: Mapping[str, str] = field(default_factory=dict)
    danger: str = ""  # why to switch off now, where it is so
    # Signs no circuit computes, once the tubes are in: "howl", "hum", "silent", "hot C3", "rings V1", "heater dark V2"
    # (dim, bright), "red plate V5", "red screen V5".
    shows: frozenset[str] = frozenset()
    fitted: str = ""  # the tube whose own fault this is: without it in its socket, nothing is wrong
