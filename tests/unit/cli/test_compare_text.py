"""Several plans side by side, word for word."""

from __future__ import annotations

from dataclasses import replace

from lugwright.cli.compare_text import compare_text
from lugwright.layout.explain_results import PlanFigures

STORED = PlanFigures(
    "stored", "the plan as it is now", {"wires": 300.0, "layers": 50.0}, {"grid": 20.0, "signal": 280.0}, 12, 7, 3,
    17, 5, (), 20.0, 165.0, 1, 0.0,
)  # fmt: skip
FEWEST = replace(
    STORED, name="fewest", words="a lug counts ten times", cost={"wires": 420.0}, wire_mm={"signal": 400.0},
    empty_strips=("A", "E"), seconds=2.34,
)  # fmt: skip


def test_one_column_a_plan_one_line_a_figure():
    assert compare_text((STORED, FEWEST), {}).splitlines() == [
        "                              stored  fewest",
        "----------------------------  ------  ------",
        "cost                             350     420",
        "  wires                          300     420",
        "  layers                          50       0",
        "wire, mm                         300     400",
        "  grid                            20       0",
        "  signal                         280     400",
        "longest grid wire, mm             20      20",
        "longest signal wire, mm          165     165",
        "wires                             12      12",
        "crossings                          7       7",
        "bodies above the first layer       3       3",
        "lugs used                         17      17",
        "lugs spare                         5       5",
        "strips left empty               none    A, E",
        "doubts                             1       1",
        "seconds to plan                    -     2.3",
        "",
        "stored: the plan as it is now",
        "fewest: a lug counts ten times",
    ]


def test_a_plan_that_costs_less_than_the_stored_one_is_pointed_out():
    said = compare_text((FEWEST, replace(STORED, name="shortest")), {}).splitlines()[-1]
    assert said == "shortest costs 70 less than fewest: keep it with --choose shortest."


def test_the_builders_own_weights_are_said():
    said = compare_text((STORED,), {"crossings": 3.0, "layers": 0.5}).splitlines()[-1]
    assert said == "Costs are at your own weights: crossings times 3, layers times 0.5."
