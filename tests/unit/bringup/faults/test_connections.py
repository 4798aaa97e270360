"""What is joined under a fault of the wiring is what a graph search says is joined, for every such fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from lugwright.bringup.faults.dry_joint import cold_lead, dry_joint
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.grounds import broken_bus, mains_side, second_ground
from lugwright.bringup.faults.one_over import part_one_over, wire_one_over
from lugwright.bringup.faults.socket_wiring import counted_wrong, swapped
from lugwright.bringup.wired import Otherwise, Piece, Wired

from .bench import case_of

KINDS = (
    dry_joint,
    cold_lead,
    wire_one_over,
    part_one_over,
    counted_wrong,
    swapped,
    second_ground,
    broken_bus,
    mains_side,
)


class Recorder(Wired):
    """Keeps what was wired otherwise last."""

    last: Mapping[str, Sequence[Piece]]

    def otherwise(self, name: str, instead: Mapping[str, Sequence[Piece]]) -> Otherwise:
        object.__setattr__(self, "last", instead)
        return super().otherwise(name, instead)


@pytest.mark.parametrize("name", ["", "dunlin_5", "godwit_40"])
def test_ends_and_terminals_are_joined_as_the_pieces_join_them(name: str) -> None:
    case = case_of(name)
    recorder = Recorder(case.build, case.circuit, case.plan)
    case.__dict__["wired"] = recorder
    checked = 0
    for kind in KINDS:
        for fault in kind(case):
            searched, said = _searched(recorder), _said(recorder, fault)
            pairs = {(searched[thing], said[thing]) for thing in said}
            assert len(pairs) == len({a for a, _ in pairs}), f"{fault.key}: one joint is said to be two"
            assert len(pairs) == len({b for _, b in pairs}), f"{fault.key}: two joints are said to be one"
            checked += 1
    assert checked > 100


def _searched(wired: Recorder) -> dict[object, int]:
    """Return the component of every end and terminal in the graph of pieces, those recorded in their places."""
    pieces = [p for p in wired.pieces.values() if p.name not in wired.last]
    pieces += [p for some in wired.last.values() for p in some]
    things: dict[object, int] = {}
    rows, columns = [], []
    for number, piece in enumerate(pieces):
        things["piece", number] = len(things)
        for thing in (*piece.keys, *piece.ends):
            things.setdefault(thing, len(things))
            rows.append(things["piece", number])
            columns.append(things[thing])
    size = len(things)
    graph = coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(size, size))
    _, label = connected_components(graph, directed=False)
    return {thing: int(label[k]) for thing, k in things.items()}


def _said(wired: Wired, fault: Fault) -> dict[object, str]:
    """Return the joint of every end and of every terminal that carries one, bridged joints under one name."""
    name = {b.b: b.a for b in fault.rewiring.bridges}
    moved = {(m.element, m.end): m.to for m in fault.rewiring.moved}
    ends = {end: moved.get(end, joint) for end, joint in wired.joint_of.items()}
    hanging = {end for piece in wired.pieces.values() for end in piece.ends}
    said: dict[object, str] = {end: joint for end, joint in ends.items() if end in hanging}
    for key, terminal in wired.plan.terminals.items():
        if wired.at[key] and (terminal.joint or key in fault.stands):
            said[key] = fault.stands.get(key, terminal.joint)
    return {thing: _through(name, joint) for thing, joint in said.items()}


def _through(bridged: Mapping[str, str], joint: str) -> str:
    while joint in bridged:
        joint = bridged[joint]
    return joint
