"""How far readings move with real parts."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lugwright.bringup.cluster import ClusterError, workers_at
from lugwright.bringup.good_builds import edits_of, running_factors
from lugwright.bringup.results import Spread
from lugwright.bringup.spread import here, spread
from lugwright.bringup.spread_causes import Cause, causes_of
from lugwright.bringup.spread_corners import worst_corners
from lugwright.circuit.elements import Resistor, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column, solve_idle
from lugwright.solve.many import idle_of, solve_many
from lugwright.solve.system import System
from lugwright.workflow import Opened, open_build

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture(scope="module")
def dunlin() -> Opened:
    return open_build(EXAMPLES / "dunlin_5.toml")


def _study(opened: Opened, **options: Any) -> Spread:
    return spread(opened.build, opened.circuit, opened.solved, opened.cold_idle, **options)


def test_the_same_seed_gives_the_same_numbers_and_another_seed_others(dunlin: Opened) -> None:
    once, again, other = (_study(dunlin, draws=60, seed=s) for s in (3, 3, 4))
    assert once == again
    assert once.rows != other.rows


def test_many_builds_agree_with_each_solved_whole(dunlin: Opened) -> None:
    """The rectifier's law is kept and scaled with the mains: within 0.2 % of the highest voltage, 1 % of heat."""
    factors = running_factors(dunlin.build, dunlin.circuit, count=6, seed=5)
    many = solve_many(dunlin.solved, factors)
    top = max(abs(j.volts) for j in dunlin.idle.joints.values())
    for k, whole in enumerate(solve_idle(dunlin.circuit, edits_of(factors, 6))):
        one = idle_of(many, k, dunlin.idle)
        assert max(abs(one.joints[j].volts - level.volts) for j, level in whole.joints.items()) < 0.002 * top
        assert all(one.tubes[t].plate_w == pytest.approx(tube.plate_w, rel=0.01) for t, tube in whole.tubes.items())
        for name, part in whole.parts.items():
            carries_dc = part.amps**2 > 0.9 * part.rms_a**2
            if name.startswith("R") and part.watts > 1e-3 and carries_dc:
                assert one.parts[name].watts == pytest.approx(part.watts, rel=0.01), name


def test_the_base_itself_is_read_as_it_was(dunlin: Opened) -> None:
    one = idle_of(solve_many(dunlin.solved, {}), 0, dunlin.idle)
    for name, tube in dunlin.idle.tubes.items():
        assert one.tubes[name].plate_w == pytest.approx(tube.plate_w, rel=1e-6)
    for name, part in dunlin.idle.parts.items():
        assert one.parts[name].watts == pytest.approx(part.watts, rel=1e-6, abs=1e-9), name


def test_percentiles_rise_and_lie_within_the_worst_corners(dunlin: Opened) -> None:
    found = _study(dunlin, draws=200)
    for row in found.rows:
        assert row.lowest <= row.low <= row.middle <= row.high <= row.highest
    rows = {row.reading: row for row in found.rows}
    for corner in found.corners:
        row = rows[corner.reading]
        assert corner.lowest < row.lowest < row.expected < row.highest < corner.highest


def test_shares_of_the_movers_make_up_most_of_the_variance_and_name_the_mains_for_b_plus(dunlin: Opened) -> None:
    row = next(r for r in _study(dunlin, draws=40).rows if r.reading == "B+1 to ground")
    assert row.movers[0].part == "mains"
    assert 0.9 < sum(m.share for m in row.movers) <= 1.0 + 1e-12
    deviation = np.sqrt(sum(m.moves**2 for m in row.movers) / 3.0)  # even draws: a third of the extent's square
    many = running_factors(dunlin.build, dunlin.circuit, count=1000, seed=9)
    drawn = solve_many(dunlin.solved, many).level_at("B+1").std()
    assert drawn == pytest.approx(deviation, rel=0.1)


def test_mains_are_drawn_within_what_the_build_says_of_them(dunlin: Opened) -> None:
    for extent in (0.03, 0.01):
        build = replace(dunlin.build, mains_spread=extent)
        drawn = running_factors(build, dunlin.circuit, count=400)["mains", "rms_v"]
        assert 0.97 * extent < abs(drawn - 1.0).max() <= extent
        assert causes_of(build, dunlin.circuit)[-1].extent == extent


def test_the_worst_corner_of_a_divider_is_the_one_by_hand() -> None:
    """100 V over 10 kohm and 30 kohm, 10 % each: 100 * 33 / (33 + 9) and 100 * 27 / (27 + 11)."""
    source = VoltageSource("mains", "top", "ground", 100.0, 0.0, 1e-3)
    circuit = Circuit((source, Resistor("R1", "top", "B+1", 10e3), Resistor("R2", "B+1", "ground", 30e3)))
    system = System(circuit)
    solved = solve_column(system, system.values(()))
    causes = [Cause(name, 0.1, ((name, "ohm"),)) for name in ("R1", "R2")]
    (corner,) = worst_corners(solved, causes)
    assert corner.lowest == pytest.approx(100.0 * 27.0 / 38.0, rel=1e-6)
    assert corner.highest == pytest.approx(100.0 * 33.0 / 42.0, rel=1e-6)
    assert corner.highest_with == ("R1 -10 %", "R2 +10 %")


def test_a_rating_that_some_builds_exceed_is_told_with_its_chance(dunlin: Opened, tmp_path: Path) -> None:
    assert not _study(dunlin, draws=40).chances
    hotter = tmp_path / "hotter.toml"
    hotter.write_text((EXAMPLES / "dunlin_5.toml").read_text().replace("volts = 120", "volts = 132", 1))
    told = {(c.part, c.rule): c for c in _study(open_build(hotter), draws=100).chances}
    heat = told["V2", "plate-watts"]
    assert 0.0 < heat.chance < 1.0
    assert heat.expected < heat.limit < heat.worst


def test_a_cluster_gives_the_same_numbers_seed_for_seed(dunlin: Opened) -> None:
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        workers_at(cluster.scheduler_address) as workers,
    ):
        away = _study(dunlin, draws=300, workers=workers)
    assert away == _study(dunlin, draws=300, workers=here)


def test_workers_keep_the_order_of_their_work() -> None:
    def squared(number: Any) -> Any:
        return number * number

    answers: Sequence[Any] = here(squared, [1, 2, 3])
    assert answers == [1, 4, 9]


def test_no_scheduler_is_told_in_four_lines() -> None:
    pytest.importorskip("distributed")
    with pytest.raises(ClusterError) as told, workers_at("nonsense"):
        pass
    assert told.value.what == "no cluster answers"
    assert told.value.found.startswith("nonsense: ")
    assert told.value.wanted == "the address of a running scheduler, such as tcp://192.168.1.20:8786"
    assert told.value.do == "start the scheduler, or leave --cluster out: the numbers are the same"


def test_a_missing_package_is_told_in_four_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ClusterError) as told, workers_at("tcp://127.0.0.1:8786"):
        pass
    assert str(told.value) == (
        "other machines cannot be used\n"
        "  found:  the package 'distributed' is not installed\n"
        "  wanted: lugwright installed with its extra 'cluster', here and on every worker\n"
        "  do:     install it, or leave --cluster out: the numbers are the same"
    )
