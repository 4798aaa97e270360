"""A section nothing is joined to: it conducts nothing and leaves nothing floating."""

from __future__ import annotations

from lugwright.circuit.elements import Resistor, TriodeTube
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.idle import solve_idle

from ..circuit_rules.rating_bench import build_of, resistor, tube


def test_a_spare_section_stands_at_ground_and_conducts_nothing() -> None:
    build = build_of(
        tube("V1", "12AX7", b_plate="ground", b_grid="ground", b_cathode="k", heater1="h", heater2="ground"),
        resistor("R1", 1e3, "k", "ground"),
        resistor("R2", 1e3, "h", "ground"),
    )
    circuit = circuit_from_build(build)
    assert [e.name for e in circuit.elements if isinstance(e, TriodeTube)] == ["V1b"]
    assert {e.name for e in circuit.elements if isinstance(e, Resistor) and e.name.startswith("V1a.")} == {
        "V1a.plate-ground", "V1a.grid-ground", "V1a.cathode-ground",
    }  # fmt: skip
    idle = solve_idle(circuit)[0]
    assert idle.certificate.passed
    assert [idle.joints[f"V1a.{name}"].volts for name in ("plate", "grid", "cathode")] == [0.0, 0.0, 0.0]
