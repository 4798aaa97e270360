from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.bringup.idle.measured import Bench
from lugwright.bringup.idle.targets import target_of
from lugwright.errors import ReadingError

from .conftest import said


@pytest.mark.parametrize(("wish", "aim"), [("cool", 0.5), ("middle", 0.6), ("hot", 0.7), ("62%", 0.62), ("45", 0.45)])
def test_taste_chooses_within_the_band_of_the_class(godwit_bench: Bench, wish: str, aim: float) -> None:
    assert target_of(godwit_bench.stage, wish).aim == pytest.approx(aim)


def test_each_class_has_its_own_band(godwit_bench: Bench, dunlin_bench: Bench) -> None:
    alone = replace(godwit_bench.stage, tubes=godwit_bench.stage.tubes[:1])
    bands = [(t.kind, t.least, t.most) for t in map(target_of, (godwit_bench.stage, alone, dunlin_bench.stage))]
    assert bands == [
        ("fixed bias, push-pull", 0.5, 0.7), ("fixed bias, one tube", 0.7, 0.85), ("cathode bias", 0.8, 1.0),
    ]  # fmt: skip


@pytest.mark.parametrize("wish", ["tepid", "", "5%", "130%", "nan", "1e9%", "-60%"])
def test_what_is_no_target_is_refused(godwit_bench: Bench, wish: str) -> None:
    with pytest.raises(ReadingError) as refused:
        said(godwit_bench, "V5 = 44.0 mV", target=wish)
    error = refused.value
    assert (error.what, error.found, error.wanted, error.do) == (
        "that is no target for an idle", repr(wish),
        "cool, middle, hot, or 20% to 100% of the plate limit, such as 60%",
        "leave it away to aim at the middle of the band",
    )  # fmt: skip


def test_a_hotter_taste_is_further_along_the_control(godwit_bench: Bench) -> None:
    wanted = []
    for taste in ("cool", "middle", "hot"):
        advice = said(godwit_bench, "V5 = 44.0 mV", "V6 = 44.0 mV", target=taste).advice
        assert advice is not None
        (only,) = advice.set_to
        assert only.reached
        assert max(s.share for s in only.tubes) == pytest.approx(advice.target.aim, abs=0.01)
        wanted.append(only.wanted)
    assert wanted == sorted(wanted)
