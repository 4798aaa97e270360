from __future__ import annotations

from dataclasses import replace

from lugwright.bringup.idle.measured import Bench
from lugwright.bringup.idle.reach import out_of_reach, reach_rows
from lugwright.bringup.idle.targets import target_of
from lugwright.bringup.idle_results import ReachRow


def test_both_ends_are_asked_with_the_tubes_and_mains_that_make_it_hardest(godwit_bench: Bench) -> None:
    rows = reach_rows(godwit_bench.stage, godwit_bench.at, godwit_bench.controls)
    assert [(row.end, row.tubes, row.mains) for row in rows] == [
        ("most negative", "strong", 1.1), ("most negative", "strong", 1.0), ("most negative", "average", 1.0),
        ("least negative", "average", 1.0), ("least negative", "weak", 1.0), ("least negative", "weak", 0.9),
    ]  # fmt: skip
    shares = [row.share for row in rows if row.share is not None]
    assert len(shares) == 6
    assert shares[0] > shares[1] > shares[2]
    assert shares[3] > shares[4] > shares[5] > shares[0]
    assert list(out_of_reach(rows, godwit_bench.controls, target_of(godwit_bench.stage))) == []


def test_an_end_that_does_not_get_there_is_told_of(godwit_bench: Bench, redshank_bench: Bench) -> None:
    cold = ReachRow("most negative", "strong", 1.1, -44.0, 0.82, 460.0)
    hot = ReachRow("least negative", "weak", 0.9, -40.0, 0.31, 360.0)
    target = target_of(godwit_bench.stage)
    assert list(out_of_reach([cold, hot], godwit_bench.controls, target)) == [
        "With strong tubes and mains 10 % high R49 Bias brings the plates down to 82% of their limit and no further; "
        "the target ends at 70%. Change the resistors around it, so that the bias gets more negative, before an output "
        "tube goes in.",
        "With weak tubes and mains 10 % low R49 Bias brings the plates to 31% of their limit and no further; the "
        "target begins at 50%. Change the resistors around it, so that the bias gets less negative.",
    ]
    (both,) = out_of_reach([replace(cold, mains=1.0)], redshank_bench.controls, target)
    assert both.startswith(
        "With strong tubes and nominal mains R65 Bias V6 and R68 Bias V7 bring the plates down to 82%"
    )


def test_nothing_to_turn_has_no_ends(dunlin_bench: Bench) -> None:
    assert reach_rows(dunlin_bench.stage, dunlin_bench.at, dunlin_bench.controls) == ()
