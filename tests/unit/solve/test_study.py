"""One study of an example: points, knobs and what is asked for."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.circuit.edits import Edit
from lugwright.circuit.from_build import circuit_from_build
from lugwright.errors import CircuitError
from lugwright.solve.idle import solve_column
from lugwright.solve.response_results import AmplifierResponse, ResponseWish
from lugwright.solve.solved import Solved
from lugwright.solve.stability import stability_findings
from lugwright.solve.study import Study, at_full_power, has_signal_path
from lugwright.solve.system import System

from ...sample_power import POWER

EXAMPLES = Path(__file__).parents[3] / "examples"


def _build(stem: str) -> Build:
    build = read_build(EXAMPLES / f"{stem}.toml").build
    assert build is not None
    return build


@pytest.fixture(scope="module")
def build() -> Build:
    return _build("godwit_40")


@pytest.fixture(scope="module")
def solved(build: Build) -> Solved:
    system = System(circuit_from_build(build))
    return solve_column(system, system.values([Edit("as built")]))


@pytest.fixture(scope="module")
def response(build: Build, solved: Solved) -> AmplifierResponse:
    return Study(build, solved, ResponseWish(full_power_w=40.0)).response()


def test_points_are_found_in_the_build(build: Build, response: AmplifierResponse) -> None:
    assert has_signal_path(build)
    assert (response.source, response.output) == ("J1.tip", "LS1")
    (curve,) = response.curves
    assert (curve.hertz[0], curve.hertz[-1]) == (pytest.approx(10.0), pytest.approx(100e3))


def test_the_amplifier_amplifies_and_its_feedback_takes_away(response: AmplifierResponse) -> None:
    assert response.curves[0].gain_1khz_db > 30.0
    assert response.loop is not None
    assert not response.loop.positive
    assert 1.0 < response.loop.reduction_db < 20.0
    assert response.loop.parts == ("R33",)


def test_tone_controls_turn_the_tone_and_volume_the_level(response: AmplifierResponse) -> None:
    knobs = {knob.label: knob for knob in response.knobs}
    assert {label for label, knob in knobs.items() if knob.shapes} >= {"Treble", "Bass", "Middle", "Presence"}
    assert not knobs["Volume"].shapes
    assert not knobs["Master"].shapes
    assert knobs["Treble"].at_hz > 1000.0 > knobs["Bass"].at_hz
    assert "Bias" not in knobs


def test_full_power_sets_the_hiss_in_proportion(response: AmplifierResponse) -> None:
    hiss = response.hiss
    assert hiss.signal_to_noise_db == pytest.approx(20 * np.log10(np.sqrt(40.0 * 8.0) / hiss.volts))
    assert response.hiss_source == "nothing plugged in"


def test_a_family_of_settings_comes_after_the_amplifier_as_built(build: Build, solved: Solved) -> None:
    wish = ResponseWish(knobs=(("Treble", (0.0, 0.5, 1.0)),), low_hz=100.0, high_hz=1e4)
    curves = Study(build, solved, wish).response().curves
    assert [c.setting for c in curves] == ["knobs as set", "Treble 0", "Treble 0.5", "Treble 1"]
    at_5khz = [c.gain_db[int(np.argmin(np.abs(np.array(c.hertz) - 5e3)))] for c in curves]
    assert at_5khz[1] < at_5khz[2] < at_5khz[3]
    assert at_5khz[0] == pytest.approx(at_5khz[2], abs=1e-9)  # it stands at half in the file


def test_between_two_points_of_ones_own(build: Build, solved: Solved) -> None:
    wish = ResponseWish(source="V1b.grid", output="V5.grid/V6.grid")
    response = Study(build, solved, wish).response()
    assert (response.source, response.output) == ("V1b.grid", "V5.grid/V6.grid")
    one = Study(build, solved, ResponseWish(source="V1b.grid", output="V5.grid")).response()
    assert response.curves[0].gain_1khz_db == pytest.approx(one.curves[0].gain_1khz_db + 6.0, abs=0.6)


def test_swapped_plate_leads_are_found(tmp_path: Path) -> None:
    text = (EXAMPLES / "godwit_40.toml").read_text(encoding="utf-8")
    right, wrong = '["V6.plate", "B+1", "V5.plate"]', '["V5.plate", "B+1", "V6.plate"]'
    assert right in text
    (tmp_path / "swapped.toml").write_text(text.replace(right, wrong), encoding="utf-8")
    swapped = read_build(tmp_path / "swapped.toml").build
    assert swapped is not None
    system = System(circuit_from_build(swapped))
    response = Study(swapped, solve_column(system, system.values(()))).response()
    assert response.loop is not None
    assert response.loop.positive
    assert any(pole.growth_per_s > 0.0 for pole in response.poles.poles)
    assert [finding.rule for finding in stability_findings(swapped, response)] == ["feedback-adds"]


def test_a_guitar_adds_its_own_hiss(build: Build, solved: Solved, response: AmplifierResponse) -> None:
    with_guitar = Study(build, solved, ResponseWish(guitar_ohm=10e3)).response()
    assert with_guitar.hiss_source == "a guitar of 10.0 kΩ"
    assert with_guitar.hiss.volts > response.hiss.volts
    assert any(source.part == "guitar" for source in with_guitar.hiss.sources)


def test_a_dummy_load_has_no_resonance(build: Build, solved: Solved, response: AmplifierResponse) -> None:
    flat = Study(build, solved, ResponseWish(resistive_speaker=True)).response()
    hertz = np.array(flat.curves[0].hertz)
    at_110, at_300 = (int(np.argmin(np.abs(hertz - f))) for f in (110.0, 300.0))
    bump = [r.curves[0].gain_db[at_110] - r.curves[0].gain_db[at_300] for r in (response, flat)]
    assert bump[0] > bump[1] + 4.0


def test_a_build_without_a_speaker_asks_for_a_point(build: Build, solved: Solved) -> None:
    mute = replace(build, parts=tuple(p for p in build.parts if p.kind != "speaker"))
    assert not has_signal_path(mute)
    with pytest.raises(CircuitError) as caught:
        Study(mute, solved).response()
    assert str(caught.value) == (
        "it is not said where the signal comes out\n"
        "  found:  no speaker in the build file\n"
        "  wanted: a joint such as in, or a terminal such as V1a.grid\n"
        "  do:     name it with --to"
    )
    deaf = replace(build, parts=tuple(p for p in build.parts if p.kind != "jack"))
    with pytest.raises(CircuitError) as caught:
        Study(deaf, solved).response()
    assert caught.value.found == "no input jack in the build file"
    assert caught.value.do == "name it with --from"


def test_full_power_is_that_at_ten_percent_distortion(response: AmplifierResponse) -> None:
    assert POWER.ten_percent is not None
    held = at_full_power(response, POWER)
    assert held is not None
    assert held.hiss.full_power_w == POWER.ten_percent.watts
    below = 10 * np.log10(POWER.ten_percent.watts * POWER.load_ohm / response.hiss.volts**2)
    assert held.hiss.signal_to_noise_db == pytest.approx(below)
    assert at_full_power(response, None) is response
    assert at_full_power(None, POWER) is None
