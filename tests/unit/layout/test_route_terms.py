"""What routes cost: by hand on wires that are easily measured."""

from __future__ import annotations

import pytest

from lugwright.layout.joint_classes import JointFacts
from lugwright.layout.objective import BUSY_LUG, CROSSING, CROSSING_UNFRIENDLY
from lugwright.layout.results import SeatedPart, Wire
from lugwright.layout.route_terms import ON_A_SLANT, routed_terms
from lugwright.layout.side_by_side import REACH_MM, run_share

FACTS = {
    joint: JointFacts(name, 0.0, 0.0, joint)
    for joint, name in {"g": "grid", "p": "output plate", "b": "B+", "q": "grid"}.items()
}


def wire(number: int, joint: str, *points: tuple[float, float], twist: str = "", shield: str = "") -> Wire:
    route = tuple((x, y, 5.0) for x, y in points)
    ends = (f"A.{2 * number}", f"A.{2 * number + 1}")
    return Wire(number, joint, ends, "signal", "w", "red", route, 0.0, (5.0, 5.0), twist, (), "", shield)


def terms(*wires: Wire, **weights: float) -> dict[str, float]:
    return routed_terms(wires, (), FACTS, weights)


def test_a_detour_counts_by_class() -> None:
    assert terms(wire(1, "g", (0, 0), (30, 0), (30, 10)))["detours"] == 0.0
    assert terms(wire(1, "g", (0, 0), (0, -10), (30, -10), (30, 0)))["detours"] == pytest.approx(4.0 * 20.0)
    assert terms(wire(1, "b", (0, 0), (30, 40)))["detours"] == pytest.approx(-20.0)


def test_a_run_beside_an_unfriendly_wire_counts_by_its_nearness() -> None:
    found = terms(wire(1, "g", (0, 0), (40, 0)), wire(2, "p", (0, 5), (40, 5)))
    assert found["coupling"] == pytest.approx(4.0 * 40.0 * run_share(5.0))
    far = terms(wire(1, "g", (0, 0), (40, 0)), wire(2, "p", (0, REACH_MM + 0.1), (40, REACH_MM + 0.1)))
    assert far["coupling"] == 0.0


def test_a_friendly_wire_and_a_shielded_one_couple_nothing() -> None:
    assert terms(wire(1, "g", (0, 0), (40, 0)), wire(2, "q", (0, 5), (40, 5)))["coupling"] == 0.0
    assert terms(wire(1, "g", (0, 0), (40, 0), shield="A.9"), wire(2, "p", (0, 5), (40, 5)))["coupling"] == 0.0


def test_wires_at_a_right_angle_do_not_couple_but_their_crossing_counts() -> None:
    found = terms(wire(1, "g", (0, 0), (40, 0)), wire(2, "p", (20, -30), (20, 30)))
    assert found["coupling"] == pytest.approx(0.0)
    assert found["crossings"] == pytest.approx(CROSSING + 4.0 * CROSSING_UNFRIENDLY)


def test_an_unfriendly_crossing_on_a_slant_counts_thrice_and_a_friendly_one_once() -> None:
    slant = terms(wire(1, "g", (0, 0), (40, 0)), wire(2, "p", (0, -20), (40, 20)))
    assert slant["crossings"] == pytest.approx(CROSSING + 4.0 * CROSSING_UNFRIENDLY * ON_A_SLANT)
    friendly = terms(wire(1, "g", (0, 0), (40, 0)), wire(2, "q", (0, -20), (40, 20)))
    assert friendly["crossings"] == CROSSING


def test_wires_that_meet_at_their_ends_and_the_two_of_a_twist_do_not_cross() -> None:
    assert terms(wire(1, "g", (0, 0), (40, 0)), wire(2, "q", (40, 0), (40, 30)))["crossings"] == 0.0
    pair = (wire(1, "g", (0, 0), (40, 0), twist="x"), wire(2, "p", (20, -9), (20, 9), twist="x"))
    assert terms(*pair)["crossings"] == 0.0


def test_leads_beyond_three_on_a_lug_count_the_braid_too() -> None:
    seats = tuple(SeatedPart(f"R{n}", ("A.3", f"B.{n}"), ("1", "2"), 1, 8.0, 3.0, 10.0, 20.0) for n in (1, 2))
    plain = wire(1, "g", (0, 0), (40, 0))
    braid = wire(5, "q", (0, 50), (40, 50), shield="A.3")
    assert routed_terms((plain,), seats, FACTS, {})["busy"] == 0.0
    assert routed_terms((plain, braid), seats, FACTS, {})["busy"] == BUSY_LUG


def test_the_builder_s_dislike_is_a_factor() -> None:
    crossing = wire(1, "g", (0, 0), (40, 0)), wire(2, "q", (20, -9), (20, 9))
    assert terms(*crossing, crossings=3.0)["crossings"] == 3.0 * CROSSING
