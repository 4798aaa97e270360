"""Output power: where it is found, what it says, what it refuses."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lugwright.buildfile.build import Build, Stage, Tube
from lugwright.buildfile.read import read_build
from lugwright.errors import NoSteadyState
from lugwright.solve.intermodulation import intermodulation
from lugwright.solve.ladder import Ladder
from lugwright.solve.power import output_power, power_or_reason
from lugwright.solve.power_band import power_band
from lugwright.solve.power_bench import gain, power_bench
from lugwright.solve.power_limits import driven_findings, driven_ratings
from lugwright.solve.power_results import NoPower, Power
from lugwright.solve.stage_limits import stage_limits
from lugwright.solve.sustained import SustainedPoint

from ...sample_power import FIVE, FULL, POINT, POWER, TEN

EXAMPLES = Path(__file__).parents[3] / "examples"


def example(name: str) -> Build:
    build = read_build(EXAMPLES / f"{name}.toml").build
    assert build is not None
    return build


@pytest.fixture(scope="module")
def dunlin() -> Power:
    return output_power(example("dunlin_5"))


def test_every_point_has_a_passing_certificate(dunlin: Power) -> None:
    points = [*dunlin.points, dunlin.five_percent, dunlin.ten_percent, dunlin.full_drive]
    for point in points:
        assert point is not None
        found = point.certificate
        assert found.passed
        assert found.power_in_w == pytest.approx(found.power_out_w, rel=1e-6)
        assert point.supply_w > point.watts
        assert 0.0 < point.watts < 8.0


def test_distortion_looked_for_is_found(dunlin: Power) -> None:
    assert dunlin.five_percent is not None
    assert dunlin.ten_percent is not None
    assert dunlin.five_percent.distortion == pytest.approx(0.05, rel=0.02)
    assert dunlin.ten_percent.distortion == pytest.approx(0.10, rel=0.02)
    assert dunlin.five_percent.watts < dunlin.ten_percent.watts < dunlin.full_drive.watts
    for point in (dunlin.five_percent, dunlin.ten_percent, dunlin.full_drive):
        assert point.certificate.harmonics == 48
        assert point.certificate.halved_change is not None
        assert point.certificate.halved_change < 3e-3


def test_full_drive_lies_well_past_ten_percent(dunlin: Power) -> None:
    assert dunlin.ten_percent is not None
    assert dunlin.full_drive.drive_rms_v >= 2.0 * dunlin.ten_percent.drive_rms_v
    assert dunlin.full_drive == dunlin.points[-1]
    assert [p.drive_rms_v for p in dunlin.points] == sorted(p.drive_rms_v for p in dunlin.points)


def test_small_drives_grow_with_their_square(dunlin: Power) -> None:
    one, two = dunlin.points[:2]
    assert two.watts / one.watts == pytest.approx((two.drive_rms_v / one.drive_rms_v) ** 2, rel=0.01)


def test_two_tones_leave_products_and_no_energy_is_lost() -> None:
    bench = power_bench(example("dunlin_5"))
    found = intermodulation(bench, peak_v=0.1)
    assert found.certificate.passed
    assert {hertz for hertz, _ in found.products} >= {200.0, 2200.0}
    assert found.total > max(share for _, share in found.products)


def test_two_tones_beyond_all_reach_are_refused() -> None:
    bench = power_bench(example("dunlin_5"))
    with pytest.raises(NoSteadyState) as error:
        intermodulation(bench, peak_v=float("nan"))
    assert error.value.what == "no steady state with two tones found"
    assert error.value.wanted == "currents that cancel at every joint and harmonic, and power in equal to power out"
    assert error.value.do == "take a lower drive"
    assert error.value.found == "nan of its own volts left over at a tube after 0 steps"


def test_the_output_transformer_takes_the_bottom() -> None:
    bench = power_bench(example("dunlin_5"))
    driven = bench.driven()
    swing = 0.16 * gain(driven, bench.load_on(driven))
    low, high = power_band(bench, distortion=0.1, swing_v=swing, hertz=(90.0, 1000.0))
    assert low.watts < 0.7 * high.watts


def test_a_loudspeaker_swings_further_at_its_resonance() -> None:
    gains = {}
    for kind in (True, False):
        bench = power_bench(example("dunlin_5"), loudspeaker=kind)
        driven = bench.driven(hz=110.0, harmonics=8)
        gains[bench.load] = gain(driven, bench.load_on(driven))
    assert gains["loudspeaker model"] > 1.5 * gains["resistor"]


def test_limits_are_found_between_points() -> None:
    bench = power_bench(example("dunlin_5"))
    points = [POINT, replace(FULL, tubes={**FULL.tubes, "V1a": FULL.tubes["V1a"]})]
    names = {"V1a": "V1a", "V2": "V2"}
    assert set(names) <= set(bench.idle.system.circuit.by_name)
    (first,) = [limit for limit in stage_limits(bench.idle, points) if limit.tube == "V2"]
    assert first.how == "bottoming"
    assert POINT.drive_rms_v < first.drive_rms_v < FULL.drive_rms_v
    share = (0.3 - 0.1) / (0.9 - 0.1)
    assert first.drive_rms_v == pytest.approx(0.05 * (0.32 / 0.05) ** share)
    assert first.watts == pytest.approx(1.0 + share * 3.9)


def test_a_screen_above_its_limit_is_a_doubt() -> None:
    build = example("dunlin_5")
    ratings = {(r.part, r.what): r for r in driven_ratings(build, POWER)}
    assert ratings["V2", "screen heat"].value == 2.6
    (finding,) = driven_findings(build, POWER)
    limit = ratings["V2", "screen heat"].limit
    assert str(finding).splitlines()[1:4] == [
        f"  found:  2.60 W ({2.6 / limit:.0%}) with 320 mV at J1, 4.90 W at the speaker",
        f"  wanted: at most {limit:.2f} W (6V6GT)",
        "  do:     larger screen resistors, 470 Ω to 1 kΩ for each tube, or lower screen volts",
    ]
    assert finding.what == "screen heat of V2 is above its limit under a steady signal"
    assert finding.rule == "screen-watts-driven"
    assert not driven_findings(build, replace(POWER, points=(POINT,), full_drive=TEN, five_percent=FIVE))


def test_an_output_tube_that_promises_nothing_is_refused() -> None:
    build = example("dunlin_5")
    part = next(p for p in build.parts if p.name == "V2")
    assert isinstance(part.values, Tube)
    doubtful = replace(part.values.type, power_doubt="one full point, no row at full drive")
    parts = tuple(replace(p, values=replace(part.values, type=doubtful)) if p is part else p for p in build.parts)
    reason = power_or_reason(replace(build, parts=parts))
    assert reason == NoPower(
        "no output power is promised with the 6V6GT (V2)",
        "one full point, no row at full drive",
        "an output tube whose law stands on rows of a maker's sheet, at low current and at full drive",
        "add rows to its data file and fit it, or measure the amplifier",
    )


def test_without_a_speaker_there_is_no_power() -> None:
    build = example("dunlin_5")
    silent = replace(build, parts=tuple(p for p in build.parts if p.name != "LS1"))
    with pytest.raises(NoSteadyState) as error:
        output_power(silent)
    assert str(error.value) == (
        "the output power cannot be computed\n  found:  no speaker in the build file\n"
        "  wanted: a jack that the signal goes into and a speaker that it comes out of\n  do:     add the speaker"
    )


def test_a_closed_volume_control_is_named() -> None:
    build = example("godwit_40")
    closed = tuple(
        replace(p, values=replace(p.values, setting=0.0)) if getattr(p.values, "label", "") == "Master" else p  # type: ignore[call-arg]
        for p in build.parts
    )
    with pytest.raises(NoSteadyState) as error:
        output_power(replace(build, parts=closed))
    assert error.value.wanted == "a signal that reaches the speaker"
    assert error.value.do == "turn the volume controls up in the build file"
    assert error.value.found.startswith("a gain of ")
    assert isinstance(build.stages[0], Stage)


def test_a_drive_that_cannot_be_solved_ends_the_ladder(monkeypatch: pytest.MonkeyPatch) -> None:
    solve = Ladder.solve

    def only_so_far(self: Ladder, peak_v: float) -> SustainedPoint | None:
        return None if peak_v > 0.2 else solve(self, peak_v)

    monkeypatch.setattr(Ladder, "solve", only_so_far)
    found = output_power(example("dunlin_5"))
    assert found.stopped_at == "no steady state found at 0.16 V"
    assert found.full_drive.drive_rms_v < 0.16
    assert found.full_drive == found.points[-1]
    assert found.full_drive.certificate.passed


def test_no_drive_solved_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Ladder, "solve", lambda self, peak_v: None)
    with pytest.raises(NoSteadyState) as error:
        output_power(example("dunlin_5"))
    assert error.value.what == "the output power cannot be computed"
    assert error.value.found.startswith("no steady state found at 0.00")
    assert error.value.wanted == "currents that cancel at every joint and harmonic, and power in equal to power out"
    assert error.value.do == "look at the idle first: lugwright idle, lugwright check"


def test_a_step_too_far_is_taken_in_halves() -> None:
    bench = power_bench(example("godwit_40"))
    driven = bench.driven(harmonics=16)
    ladder = Ladder(driven, bench.load_on(driven))
    assert ladder.solve(0.02) is not None
    assert ladder.solve(3.0) is not None  # a hundred and fifty times the last
    assert ladder.points[3.0].closed
    assert ladder.crossing(1e-9) is None  # passed below the first rung
    assert ladder.crossing(5.0) is None  # never reached
