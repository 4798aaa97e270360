"""What planning again has moved is told with its reason."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import Build, Wishes
from lugwright.layout.moves import moves
from lugwright.layout.results import Move, Plan, PlanTerminal, SeatedPart, Wire

from .amplifier import amplifier
from .edits import with_resistor, without

BUILD, _ = amplifier(1)


def terminal(key: str, joint: str, capacity: int = 3) -> PlanTerminal:
    """Return a lug."""
    owner, _, number = key.partition(".")
    return PlanTerminal(key, owner, "lug", 10.0, 10.0, 9.0, joint, capacity, f"strip {owner} lug {number}")


def plan(
    seats: dict[str, tuple[str, str]], joints: dict[str, str], wires: dict[int, tuple[str, str, str]], mark: str
) -> Plan:
    """Return a plan with parts between lugs, and wires as number -> joint and two lugs."""
    found = tuple(SeatedPart(p, ends, ("1", "2"), 1, 10.0, 4.0, 12.0, 30.0) for p, ends in seats.items())
    laid = tuple(Wire(n, j, (a, b), "B+", "t", "red", (), 50.0, (5.0, 5.0), "", ()) for n, (j, a, b) in wires.items())
    return Plan("x", {k: terminal(k, j) for k, j in joints.items()}, found, laid, (), {}, fingerprint=mark)


def test_nothing_has_moved_in_the_same_plan() -> None:
    one = plan({"R2": ("A.1", "A.5")}, {"A.1": "in", "A.5": "ground"}, {}, "a")
    assert moves(BUILD, one, one) == ()


def test_each_reason_in_its_own_words() -> None:
    build = with_resistor(without(BUILD, {"C1"}), "R77", "B+1", "ground")
    parts = [p.name for p in build.parts]
    assert {"R2", "R3", "R77"} <= set(parts)
    one, two = (t.joint for t in build.part("R2").terminals)
    up, down = (t.joint for t in build.part("R3").terminals)
    before = plan(
        {"C1": ("A.1", "A.5"), "R2": ("A.1", "A.5"), "R3": ("B.1", "B.9")},
        {"A.1": one, "A.5": two, "B.1": up, "B.9": down, "B.2": up},
        {1: (up, "B.1", "B.2"), 2: (two, "A.5", "A.1")},
        "a",
    )
    after = plan(
        {"R2": ("A.2", "A.5"), "R3": ("B.1", "B.5"), "R77": ("A.1", "B.5")},
        {"A.1": "B+1", "A.2": one, "A.5": two, "B.1": up, "B.5": down, "B.2": ""},
        {3: ("B+1", "A.1", "B.1"), 4: (two, "A.5", "A.2")},
        "b",
    )
    assert moves(build, before, after) == (
        Move("C1", "part", "strip A lug 1 to strip A lug 5", "", "not in the circuit any more"),
        Move("R2", "part", "strip A lug 1 to strip A lug 5", "strip A lug 2 to strip A lug 5",
             "strip A lug 1 carries B+1 now (R77.1, W3)"),
        Move("R3", "part", "strip B lug 1 to strip B lug 9", "strip B lug 1 to strip B lug 5",
             "B.9 is not there any more"),
        Move("R77", "part", "", "strip A lug 1 to strip B lug 5", "new in the circuit"),
        Move("W1", "wire", "strip B lug 1 to strip B lug 2", "", "strip B lug 2 is empty now"),
        Move("W2", "wire", "strip A lug 5 to strip A lug 1", "", "strip A lug 1 carries B+1 now"),
        Move("W3", "wire", "", "strip A lug 1 to strip B lug 1", "joins R77.1 to B+1"),
        Move("W4", "wire", "", "strip A lug 5 to strip A lug 2", f"joins R2.1 to {two}"),
    )  # fmt: skip


def test_wishes_bodies_full_lugs_and_room() -> None:
    one, two = (t.joint for t in BUILD.part("R2").terminals)
    joints = {"A.1": one, "A.2": one, "A.5": two}
    before = plan({"R2": ("A.1", "A.5")}, joints, {}, "a")
    after = plan({"R2": ("A.2", "A.5")}, joints, {}, "b")

    def why(build: Build, now: Plan) -> str:
        return next(m.why for m in moves(build, before, now) if m.what == "R2")

    asked = replace(BUILD, wishes=Wishes(between={"R2": ("A.5", "A.2")}))
    assert why(asked, after) == "asked for under [plan.between]"
    (seat,) = after.seats
    assert why(BUILD, replace(after, seats=(replace(seat, body_length_mm=18.0),))) == "its body is 18 by 4 mm now"
    assert why(BUILD, replace(after, seats=(replace(seat, terminals=("A.1", "A.5"), layer=2),))) == (
        "something else lies there now"
    )
    full = replace(after, terminals={k: replace(t, capacity=1) for k, t in after.terminals.items()})
    assert why(BUILD, full) == "strip A lug 5 is full now (R2.2)"
    assert why(BUILD, after) == "to make room"


def test_a_wire_that_a_bond_has_taken_the_number_of_is_told() -> None:
    before = plan({}, {"A.1": "x", "A.2": "x"}, {3: ("x", "A.1", "A.2")}, "a")
    after = plan({}, {"A.1": "x", "A.2": "x"}, {4: ("x", "A.1", "A.2")}, "b")
    assert moves(BUILD, before, after) == (Move("W4", "wire", "W3", "W4", "W3 is the name of a bond now"),)


def test_a_joint_wired_otherwise_is_told() -> None:
    joints = {"A.1": "x", "A.2": "x", "A.3": "x"}
    before = plan({}, joints, {1: ("x", "A.1", "A.2"), 2: ("x", "A.2", "A.3")}, "a")
    after = plan({}, joints, {1: ("x", "A.1", "A.3"), 2: ("x", "A.2", "A.3")}, "b")
    assert moves(BUILD, before, after) == (
        Move("W1", "wire", "strip A lug 1 to strip A lug 2", "", "x is joined another way now"),
        Move("W1", "wire", "", "strip A lug 1 to strip A lug 3", "x is joined another way now"),
    )
