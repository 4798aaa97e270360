"""Factors of which most is kept are those of the whole matrix, whichever part is moved and whatever tubes do."""

from __future__ import annotations

import pytest
from tests.planned_examples import example

from lugwright.circuit.edits import Edit, SetValue
from lugwright.solve.device_laws import tube_state
from lugwright.solve.mains_cycle import MainsCycle
from lugwright.solve.mains_harmonics import kept_harmonics
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import find_pattern

PARTS = (
    SetValue("R12", "ohm", 2200.0),
    SetValue("C6.a", "farad", 10e-6),
    SetValue("R4", "ohm", 820.0),
    SetValue("R12", "ohm", 47.0),
    SetValue("R1", "ohm", 1e4),
)  # more of them than are kept


@pytest.fixture(scope="module")
def dunlin() -> Solved:
    return example("dunlin_5").solved


def test_rectifiers_see_the_same_with_factors_kept(dunlin: Solved) -> None:
    system, kept = dunlin.system, kept_harmonics(dunlin.system, dunlin.values)
    for part in (None, *PARTS, PARTS[0]):
        values = system.values([Edit("moved", () if part is None else (part,))])
        for share in (1.0, 0.9):
            tubes = tube_state(system, values, share * dunlin.dc.volts)
            whole, quick = MainsCycle(system, values, tubes), MainsCycle(system, values, tubes, kept=kept)
            assert quick.impedance == pytest.approx(whole.impedance, rel=1e-9)
            assert quick.open_v == pytest.approx(whole.open_v, abs=1e-9)


def test_what_touches_nothing_known_late_is_eliminated_first() -> None:
    """A chain 0 - 1 - 2 - 3 - 4: what the joint in the middle is waits with what comes after it, and nothing else."""
    pattern = find_pattern(5, [(0, 1), (1, 2), (2, 3), (3, 4)])
    order = [p.row for p in pattern.pivots]
    first, rest = pattern.split([2])
    late = [p.row for p in rest.pivots]
    assert [p.row for p in first.pivots] == [row for row in order if row not in late]
    assert late == order[order.index(2) :]
    nothing, everything = pattern.split(range(5))
    assert not nothing.pivots
    assert everything.pivots == pattern.pivots
