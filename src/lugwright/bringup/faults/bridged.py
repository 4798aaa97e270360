"""Neighbors that touch: drops of solder, strands, braids, leaky strips, insulation cut at a hole."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.joined_danger import MAINS_OUT, joined_danger
from lugwright.bringup.faults.neighbors import neighbor_pairs
from lugwright.bringup.wired import METAL, Otherwise, Piece
from lugwright.buildfile.build import CHASSIS
from lugwright.circuit.rewiring import Bridge, Rewiring
from lugwright.workorder.in_words import braid_end

DIRT_OHM = 50e6  # flux, damp and old phenolic: from memory, 50 to 500 Mohm
HOT = ("B+", "plate", "output plate", "screen")
LIVE_METAL = "the high voltage stands on the metal, or the supply is shorted by it"


def bridged(case: FaultCase) -> Iterator[Fault]:
    """Yield each pair of neighboring lugs and pins bridged."""
    for one, other in neighbor_pairs(case.neighbors):
        joints = {case.terminal(key).joint for key in (one, other)}
        if len(joints) == 2 and "" not in joints:
            effect = case.wired.joined(one, other)
            yield case.fault(
                f"bridged {one} {other}", "F100", what=f"{case.label(one)} and {case.label(other)} are bridged",
                do="look for a drop of solder, a strand or a cut-off between them", effect=effect,
                terminals=(one, other), danger=joined_danger(case, effect),
            )  # fmt: skip


def dirty_strip(case: FaultCase) -> Iterator[Fault]:
    """Yield each lug of a grid beside one at high voltage with the strip leaking between them."""
    for one, other in neighbor_pairs(case.neighbors):
        a, b = case.terminal(one), case.terminal(other)
        kinds = {case.classes.get(t.joint, "") for t in (a, b)}
        if a.kind == b.kind == "lug" and kinds & set(HOT) and kinds & {"grid", "signal"}:
            leak = Rewiring("", bridges=(Bridge(a.joint, b.joint, DIRT_OHM),))
            yield case.fault(
                f"leaking {one} {other}", "F62", what=f"the strip leaks between {a.label} and {b.label}",
                do="wash off the flux with alcohol, let it dry, and look for charred board", effect=Otherwise(leak),
                terminals=(one, other),
            )  # fmt: skip


def shield(case: FaultCase) -> Iterator[Fault]:
    """Yield each shielded wire with a strand of its braid at the core, and with its braid soldered nowhere."""
    for name, wire in case.wires.items():
        if not wire.shield:
            continue
        near = wire.terminals[braid_end(case.plan, wire)]
        effect = case.wired.joined(near, wire.shield)
        yield case.fault(
            f"strand {name}", "F69", what=f"a strand of the braid of {case.wire_name(wire)}, touches its core",
            do=f"cut it away at {case.label(near)}, and sleeve the braid", effect=effect, wires=(wire.number,),
            terminals=(near, wire.shield), shows=("silent",),
        )  # fmt: skip
        yield case.fault(
            f"braid {name}", "F70", what=f"the braid of {case.wire_name(wire)}, is soldered nowhere",
            do=f"solder it to {case.label(wire.shield)}", wires=(wire.number,), terminals=(wire.shield,),
            shows=("hum",),
        )  # fmt: skip


def cut_insulation(case: FaultCase) -> Iterator[Fault]:
    """Yield each lead of a transformer or choke with its insulation cut at the hole it comes through."""
    metal = case.wired.pieces[METAL].keys
    for key, terminal in case.plan.terminals.items():
        if terminal.kind != "exit" or not terminal.joint or terminal.joint == CHASSIS or not metal:
            continue
        effect = case.wired.otherwise("cut", {"cut": (Piece("cut", (metal[0], key)),)})
        mains = case.classes.get(terminal.joint) == "mains"
        high = case.classes.get(terminal.joint) in HOT
        yield case.fault(
            f"cut {key}", "F101",
            what=f"the insulation of {terminal.label} is cut at its hole, and it touches the metal",
            do="measure from the lead to the metal with the plug out; sleeve it, and fit a grommet", effect=effect,
            part=terminal.owner, terminals=(key,), danger=MAINS_OUT if mains else LIVE_METAL if high else "",
        )  # fmt: skip
