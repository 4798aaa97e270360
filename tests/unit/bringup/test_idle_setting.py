from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lugwright.bringup.idle_setting import idle_setting
from lugwright.bringup.results import IdleSetting
from lugwright.buildfile.build import Build, Tube
from lugwright.buildfile.read import read_text
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

EXAMPLES = Path(__file__).parents[3] / "examples"
Amplifier = tuple[Build, Circuit]


def setting(amplifier: Amplifier) -> IdleSetting:
    build, circuit = amplifier
    (solved,) = solve_columns(circuit)
    found = idle_setting(build, solved, read_idle(solved))
    if found is None:
        pytest.fail("no output tube found")
    return found


@pytest.fixture(scope="module")
def fixed(godwit: Amplifier) -> IdleSetting:
    return setting(godwit)


@pytest.fixture(scope="module")
def cathode(dunlin: Amplifier) -> IdleSetting:
    return setting(dunlin)


def test_fixed_bias_reads_millivolts_over_the_one_ohm_resistor(fixed: IdleSetting) -> None:
    assert fixed.method == "fixed bias"
    assert [row.tube for row in fixed.rows] == ["V5", "V6"]
    for row in fixed.rows:
        assert row.cathode_reading_mv == pytest.approx(1e3 * row.cathode_a)
        assert row.cathode_a == pytest.approx(row.plate_a + row.screen_a, rel=1e-4)
        assert "includes screen current" in row.cathode_point
        assert row.plate_limit_w == 30.0
        assert row.share == pytest.approx(row.plate_a * row.plate_to_cathode_v / 30.0, rel=1e-3)


def test_tubes_and_parts_spread_the_idle_both_ways(fixed: IdleSetting, cathode: IdleSetting) -> None:
    for row in (*fixed.rows, *cathode.rows):
        assert row.low_share < 0.97 * row.share < 1.03 * row.share < row.high_share
    # the cathode resistor holds the idle together, a fixed grid does not
    spread = [(r.high_share - r.low_share) / r.share for r in (fixed.rows[0], cathode.rows[0])]
    assert spread[0] > 1.3 * spread[1]


def test_bias_control_is_swept_and_more_current_goes_with_less_bias(fixed: IdleSetting) -> None:
    assert [share for _, share, _, _ in fixed.bias_range] == [0.0, 0.25, 0.5, 0.75, 1.0]
    (name,) = {name for name, _, _, _ in fixed.bias_range}
    assert name == "R49 Bias (V5, V6)"
    volts = [v for _, _, v, _ in fixed.bias_range]
    milliamps = [ma for _, _, _, ma in fixed.bias_range]
    assert volts == sorted(volts)
    assert volts[-1] < -30.0
    assert milliamps == sorted(milliamps)
    assert milliamps[-1] > 3.0 * milliamps[0]


def test_cathode_bias_has_no_control_and_its_cathode_volts_for_a_reading(cathode: IdleSetting) -> None:
    assert cathode.method == "cathode bias"
    assert cathode.bias_range == ()
    assert cathode.rows[0].cathode_reading_mv is None
    (row,) = cathode.rows
    assert row.cathode_v == pytest.approx(330.0 * row.cathode_a, rel=1e-3)
    assert "80 to 100 percent" in cathode.target


@pytest.mark.parametrize(
    ("ohms", "words"),
    [
        (
            {"R48": 150e3},
            "R49 Bias brings V5 to 5% of its plate limit and no further: the target is out of its reach. Change the "
            "resistors around it, so that the bias gets less negative.",
        ),
        (
            {"R48": 8.2e3, "R49": 5e3},
            "R49 Bias leaves V5 at 102% of its plate limit even at its most negative: the target is out of its reach. "
            "Change the resistors around it, so that the bias gets more negative, before an output tube goes in.",
        ),
    ],
)
def test_a_control_that_cannot_reach_the_target_is_told_of(
    godwit: Amplifier, fixed: IdleSetting, ohms: dict[str, float], words: str
) -> None:
    assert not any("out of its reach" in said for said in fixed.cautions)
    build, _ = godwit
    parts = tuple(
        replace(p, values=replace(p.values, ohm=ohms[p.name])) if p.name in ohms else p  # type: ignore[call-arg]
        for p in build.parts
    )
    changed = replace(build, parts=parts)
    assert setting((changed, circuit_from_build(changed))).cautions[0] == words


def test_two_tubes_on_one_cathode_resistor_have_a_row_each(curlew: Amplifier) -> None:
    rows = setting(curlew).rows
    assert [row.tube for row in rows] == ["V4", "V5"]
    assert all(row.cathode_reading_mv is None for row in rows)


def test_measuring_resistor_above_a_bias_resistor_is_read_across_not_to_ground(curlew: Amplifier) -> None:
    text = (EXAMPLES / curlew[0].file).read_text()
    for tube, name in (("V4", "R91"), ("V5", "R92")):
        assert f'["{tube}.cathode", "ground"]' in text
        text = text.replace(f'["{tube}.cathode", "ground"]', f'["{tube} foot", "ground"]')
        part = f'{name} = {{ value = "1", ends = ["{tube}.cathode", "{tube} foot"] }}'
        text = text.replace("[stage.output.T2]", f"{part}\n[stage.output.T2]")
    build = read_text(text).build
    assert build is not None
    rows = setting((build, circuit_from_build(build))).rows
    assert [row.cathode_point for row in rows] == [
        f"{tube} pin 3 (cathode) to the other end of {name}, not to ground, across {name} (1 ohm; the reading includes "
        "screen current)"
        for tube, name in (("V4", "R91"), ("V5", "R92"))
    ]
    assert all(row.cathode_reading_mv == pytest.approx(1e3 * row.cathode_a) for row in rows)


def test_one_tube_alone_in_fixed_bias_is_set_higher_than_one_of_a_pair(godwit: Amplifier, fixed: IdleSetting) -> None:
    build, circuit = godwit
    parts = tuple(p for p in build.parts if p.name != "V6")
    (solved,) = solve_columns(circuit)
    alone = idle_setting(replace(build, parts=parts), solved, read_idle(solved))
    assert alone is not None
    assert (alone.method, [row.tube for row in alone.rows]) == ("fixed bias", ["V5"])
    assert alone.target == (
        "70 to 85 percent of the plate limit, from memory of common practice: alone it works in class A, where idle is "
        "the hottest it gets; start at the cold end"
    )
    assert fixed.target == (
        "50 to 70 percent of the plate limit, from memory of common practice: the plates take more than that at full "
        "drive; start at the cold end"
    )


def test_words_warn_of_the_live_chassis_and_the_end_of_the_control(fixed: IdleSetting) -> None:
    said = " ".join(fixed.cautions)
    for must in ("below 60 V", "one hand", "most negative", "never rest there", "screen current", "glows red"):
        assert must in said


def test_amplifier_without_output_tube_has_no_setting(dunlin: Amplifier) -> None:
    build, circuit = dunlin
    parts = tuple(p for p in build.parts if not (isinstance(p.values, Tube) and p.name == "V2"))
    (solved,) = solve_columns(circuit)
    assert idle_setting(replace(build, parts=parts), solved, read_idle(solved)) is None
