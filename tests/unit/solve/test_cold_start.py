"""The start as a whole: where it ends, what stands above idle, standby, silicon, switch-off."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lugwright.circuit.starting import Start
from lugwright.errors import ChangeError
from lugwright.solve.first_cycles import FirstCycles
from lugwright.solve.system import System
from lugwright.workflow import Opened, open_build, start_standing_by, start_with_silicon

EXAMPLES = Path(__file__).parents[3] / "examples"


@cache
def opened(name: str) -> Opened:
    return open_build(EXAMPLES / f"{name}.toml")


def started(name: str) -> Start:
    start = opened(name).start
    assert start is not None
    return start


def highest(start: Start, joint: str) -> float:
    (line,) = (line for line in start.lines if line.joint == joint)
    return max(line.volts)


@pytest.mark.parametrize("name", ["dunlin_5", "curlew_18", "godwit_40", "redshank_50"])
def test_a_minute_later_everything_is_at_idle(name: str) -> None:
    start = started(name)
    assert start.off_idle_v < 0.1, start.off_idle_joint


def test_before_the_tubes_draw_the_supply_stands_where_cold_tubes_leave_it() -> None:
    cold = opened("dunlin_5").cold_idle.joints["B+1"].volts
    assert highest(started("dunlin_5"), "B+1") == pytest.approx(cold, rel=0.005)
    assert cold > 1.05 * opened("dunlin_5").idle.joints["B+1"].volts


def test_behind_a_choke_the_second_capacitor_swings_past_the_first() -> None:
    start = started("godwit_40")
    second = start.capacitor("C23.b")
    assert second.peak_v > start.capacitor("C23.a").peak_v
    assert second.peak_s < 0.1


def test_a_slow_rectifier_spares_the_capacitors_what_silicon_gives_them() -> None:
    tube, silicon = started("curlew_18"), start_with_silicon(opened("curlew_18"))
    assert highest(silicon, "B+1") > 1.2 * highest(tube, "B+1")
    assert max(i.peak_a for i in silicon.inrush) > max(i.peak_a for i in tube.inrush)


def test_silicon_in_place_of_silicon_is_refused() -> None:
    with pytest.raises(ChangeError) as caught:
        start_with_silicon(opened("dunlin_5"))
    assert str(caught.value).splitlines() == [
        "there is no rectifier tube to replace",
        "  found:  silicon rectifiers only",
        "  wanted: a build with a rectifier tube",
        "  do:     leave --silicon out",
    ]


def test_standby_closed_late_meets_warm_tubes() -> None:
    together, late = started("godwit_40"), start_standing_by(opened("godwit_40"), 25.0)
    assert late.how == "S2 closed after 25 s"
    (line,) = (line for line in late.lines if line.joint == "B+5")
    before = [abs(v) for s, v in zip(line.seconds, line.volts, strict=True) if s < 25.0]
    assert max(before) < 5.0
    assert highest(late, "B+5") < 0.7 * highest(together, "B+5")
    assert late.off_idle_v < 0.1


def test_a_build_without_standby_has_none_to_open() -> None:
    with pytest.raises(ChangeError) as caught:
        start_standing_by(opened("dunlin_5"), 25.0)
    assert str(caught.value).splitlines() == [
        "there is no standby switch to open",
        "  found:  1 switch, and none carries the direct current of the supply",
        "  wanted: a switch in the center tap or in the B+ line",
        "  do:     leave --standby out",
    ]


def test_warm_tubes_empty_the_capacitors_sooner_than_the_bleeder() -> None:
    for row in opened("godwit_40").filter_rows:
        if row.idle_v > 100.0:
            assert row.warm_s is not None
            assert row.cold_s is not None
            assert row.warm_s < 0.5 * row.cold_s


def test_a_start_on_the_peak_of_the_mains_bites_hardest_and_never_more_than_the_copper_allows() -> None:
    for name in ("dunlin_5", "godwit_40"):
        zero, peak = started(name).inrush
        assert zero.peak_a < peak.peak_a < started(name).saturated_a


def test_a_coarser_step_goes_on_where_the_finer_one_stopped() -> None:
    """The states of two instants a coarse step apart are all that the rule needs."""
    system = System(opened("dunlin_5").circuit)
    values = system.values(())
    fine, mixed = (FirstCycles(system, values, np.array([0.0]), steps=504) for _ in range(2))
    for stepper in (fine, mixed):
        stepper.cycle(values)
    mixed.coarsen(252)
    one, other = fine.cycle(values), mixed.cycle(values)
    row = system.row["B+1"]
    assert np.allclose(one.seconds[1::2], other.seconds, rtol=1e-12)
    swing = np.abs(one.volts[row]).max()
    assert np.abs(one.volts[row, :, 1::2] - other.volts[row]).max() <= 2e-3 * swing


LIMITED = """format = 1
[build]
title = "Limited"
mains = { volts = 120, hertz = 60 }
[stage.mains]
duty = "mains"
P1 = { line = "F1.1", neutral = "n", earth = "earth" }
F1 = { amps = 1, ohm = 0.2, ends = ["P1.line", "RT1.1"] }
RT1 = { cold_ohm = 10, hot_ohm = 0.5, hot_amps = 2, ends = ["F1.2", "T1.primary.1"] }
W1 = { purpose = "earth", ends = ["earth", "chassis"] }
W2 = { purpose = "ground", ends = ["ground", "chassis"] }
CR1 = { volts = 1000, amps = 1, ends = ["a", "B+1"] }
C1 = { value = "47u", volts = 450, ends = ["B+1", "ground"] }
[stage.mains.T1]
kind = "power transformer"
windings.primary = { volts = [120], ohms = [1.6], ends = ["RT1.2", "n"] }
windings.hv = { volts = [315], ohms = [38], amps = 0.25, ends = ["a", "ground"] }
"""


def test_a_cold_inrush_limiter_holds_the_first_cycle_down_and_warms_up(tmp_path: Path) -> None:
    found = {}
    for cold_ohm in (10, 1):
        path = tmp_path / f"limited_{cold_ohm}.toml"
        path.write_text(LIMITED.replace("cold_ohm = 10", f"cold_ohm = {cold_ohm}"))
        found[cold_ohm] = open_build(path).start
    cold, warm = found[10], found[1]
    assert cold is not None
    assert warm is not None
    peak = 120.0 * 2.0**0.5
    assert cold.saturated_a == pytest.approx(peak / (0.4 + 0.02 + 0.2 + 10.0 + 1.6), rel=0.01)
    assert max(i.peak_a for i in cold.inrush) < max(i.peak_a for i in warm.inrush)


def test_a_capacitor_nothing_empties_stays_charged(tmp_path: Path) -> None:
    path = tmp_path / "limited.toml"
    path.write_text(LIMITED)
    (row,) = open_build(path).filter_rows
    assert (row.warm_s, row.cold_s) == (None, None)


def test_times_of_tubes_come_in_order() -> None:
    for tube in started("redshank_50").tubes:
        assert tube.half_s is not None
        assert tube.full_s is not None
        assert 5.0 < tube.half_s < tube.full_s < 30.0
        assert 2.7 <= tube.cold_ratio <= 7.2
