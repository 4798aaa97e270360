"""Figures of a measured tube in a build file."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.build import Tube
from lugwright.buildfile.read import read_text
from lugwright.catalogue.records import Specimen
from lugwright.circuit.from_build import circuit_from_build

DUNLIN = (Path(__file__).parents[3] / "examples/dunlin_5.toml").read_text()


def with_tubes(*lines: str) -> str:
    """Return the example with other lines for its tubes."""
    text = DUNLIN
    for line in lines:
        name = line.split(" = ")[0]
        (old,) = (one for one in text.splitlines() if one.startswith(f'{name} = "'))
        text = text.replace(old, line)
    return text


def told(text: str) -> list[str]:
    found = read_text(text).findings
    return [f"{f.what} | {f.found} | {f.wanted} | {f.do}" for f in found if f.rule in ("bad-value", "unknown-key")]


def test_measured_figures_reach_the_tubes_law_in_the_circuit() -> None:
    build = read_text(with_tubes('V2 = { type = "6V6GT", measured = { emission = 0.9, shift_v = -0.4 } }')).build
    assert build is not None
    values = next(p.values for p in build.parts if p.name == "V2")
    assert isinstance(values, Tube)
    assert values.measured == {"": Specimen(emission=0.9, shift_v=-0.4)}
    law = circuit_from_build(build).by_name["V2"].law
    assert law.k == pytest.approx(0.9 * values.type.law.k)
    assert law.vct == pytest.approx(values.type.law.vct - 0.4)


def test_each_section_of_a_double_tube_may_have_its_own() -> None:
    line = 'V1 = { type = "12AX7", measured = { emission = 0.9 }, measured_b = { emission = 1.1 } }'
    build = read_text(with_tubes(line)).build
    assert build is not None
    circuit = circuit_from_build(build)
    published = next(p.values.type.law.k for p in build.parts if p.name == "V1")
    assert circuit.by_name["V1a"].law.k == pytest.approx(0.9 * published)
    assert circuit.by_name["V1b"].law.k == pytest.approx(1.1 * published)


def test_figures_that_mean_nothing_for_the_tube_are_told_at_once() -> None:
    text = with_tubes(
        'V1 = { type = "12AX7", measured = { screen = 0.9, emission = 9.0 } }',
        'V2 = { type = "6V6GT", measured_a = { emission = 0.9 } }',
    )
    assert told(text) == [
        "V1: measured.emission cannot be used | measured.emission = 9.0 | a number not above 5: current against the "
        "published, e.g. 0.92 | correct that value",
        "V2: the 6V6GT has no section a | measured_a | measured | write it under measured",
    ]
    assert told(with_tubes('V1 = { type = "12AX7", measured = { screen = 0.9 } }')) == [
        "V1: screen means nothing for the 12AX7 | screen = 0.9 | one of emission, amplification, shift_v, cutoff | "
        "take it out",
    ]


def test_a_misspelled_figure_is_told_with_the_nearest() -> None:
    assert told(with_tubes('V2 = { type = "6V6GT", measured = { emision = 0.9 } }')) == [
        "V2: unknown key 'emision' | emision | one of emission, amplification, shift_v, cutoff, screen, plate_slope, "
        "knee | write 'emission'",
    ]
