"""From readings to an answer in keys of faults."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from lugwright.bringup.trace.evidence import Readings, Slip, no_readings
from lugwright.bringup.trace.groups import seen_by
from lugwright.bringup.trace.pairs import likely_pairs
from lugwright.bringup.trace.records import Predictions
from lugwright.bringup.trace.verdict import WORTH_NAMING, verdict_of, weigh

from .made_up import given, probes, read

KEYS = ("open R1", "open R2", "short C1", "silent")
ODDS = np.array([1.0, 2.0, 1.0, 1.0])
EXPECTED = [[0.0] * 5, [9, 0, 0, 0, 0], [9.1, 0, 0, 7.0, 0], [0, 8, 8, 0, 0], [0.0] * 5]


def _in_volts(_: int, value: float) -> float:
    return 10.0 * value


def _verdict(readings: Readings, at: Sequence[int] = range(5)):
    weighed = weigh(given(EXPECTED), readings, KEYS, ODDS)
    return verdict_of(weighed, np.array(at, dtype=int), _in_volts)


def test_before_any_reading_nothing_is_found_and_all_may_be_good() -> None:
    found = _verdict(no_readings())
    assert found.suspects == ()
    assert not found.found
    assert not found.good
    assert set(found.not_yet_seen.faults) == {"open R1", "open R2", "short C1"}
    assert found.never_seen.faults == ("silent",)
    total = found.healthy + found.not_yet_seen.chance + found.never_seen.chance + found.none_of_these
    assert total == pytest.approx(1.0)


def test_what_the_readings_cannot_tell_apart_is_one_suspect_with_the_odds_order() -> None:
    found = _verdict(read({0: 9.4, 1: 0.2, 2: -0.3}))
    assert found.suspects[0].faults == ("open R2", "open R1")
    assert not found.suspects[0].for_good
    assert found.suspects[0].chance > 0.95
    assert not found.found  # a reading is left that takes the two apart
    assert found.next[0].probe.red == "p3"
    assert [set(left) for _, _, left in found.next[0].outcomes] == [{"open R1"}, {"open R2"}]
    assert 10.0 < found.next[0].outcomes[0][1] < 60.0


def test_where_no_reading_is_left_that_tells_them_apart_it_is_said() -> None:
    found = _verdict(read({0: 9.4, 1: 0.2, 2: -0.3}), at=(1, 2, 4))
    assert found.suspects[0].for_good
    assert found.found


def test_good_readings_make_a_build_good_as_far_as_readings_can_tell() -> None:
    found = _verdict(read({k: 0.1 * k for k in range(5)}))
    assert found.good
    assert found.suspects == () or found.suspects[0].chance < 0.02
    assert found.never_seen.faults == ("silent",)


def _added(pairs: Sequence[tuple[int, int]]) -> Predictions:
    rows = np.array(EXPECTED)
    return given([rows[i] + rows[j] for i, j in pairs])


def test_two_faults_at_once_are_found_and_each_counts_for_itself() -> None:
    readings = read({0: 9.2, 1: 8.1, 2: 7.8, 3: 0.1, 4: 0.3})
    weighed = weigh(given(EXPECTED), readings, KEYS, ODDS, predict_pairs=_added)
    found = verdict_of(weighed, np.arange(5), _in_volts)
    assert found.pairs[0].together == (("open R1", "short C1"),)
    assert found.pairs[0].chance > 0.9
    assert {s.faults for s in found.suspects[:2]} == {("open R1",), ("short C1",)}
    assert all(s.chance >= found.pairs[0].chance for s in found.suspects[:2])


def test_a_silent_fault_is_no_half_of_a_pair() -> None:
    readings = read({0: 9.2, 1: 8.1, 2: 7.8, 3: 0.1, 4: 0.3})
    pairs = likely_pairs(given(EXPECTED), readings, ODDS, seen_by(given(EXPECTED), readings))
    assert pairs[0] == (1, 3)
    assert all(4 not in pair for pair in pairs)


def test_a_fault_that_overrules_another_is_paired_with_it_too() -> None:
    """Dead B+ hides what the other fault does at one probe and leaves it at another."""
    predictions = given([[0.0] * 4, [-20, -20, 0, 0], [-8, 0, 6, 6]])
    readings = read({0: -20.0, 1: -20.0, 2: 6.1, 3: 5.8})
    assert likely_pairs(predictions, readings, np.ones(2), seen_by(predictions, readings)) == ((1, 2),)


def test_no_pairs_without_readings_or_with_one_fault() -> None:
    assert likely_pairs(given(EXPECTED), no_readings(), ODDS, np.zeros(4, dtype=bool)) == ()
    assert likely_pairs(given([[0.0], [9.0]]), read({0: 9.0}), np.ones(1), np.ones(1, dtype=bool)) == ()


def test_a_wrong_reading_is_named_by_its_place() -> None:
    found = _verdict(read({0: 0.1, 1: -0.2, 2: 0.0, 3: -25.0, 4: 0.1}))
    assert max(found.wrong_reading, key=lambda k: found.wrong_reading[k]) == 3
    assert len(probes(5)) == len(EXPECTED[0])


def test_the_list_of_what_is_never_seen_may_be_handed_in() -> None:
    weighed = weigh(given(EXPECTED), read({k: 0.1 * k for k in range(5)}), KEYS, ODDS)
    never = np.array([True, False, False, False, False])
    found = verdict_of(weighed, np.zeros(0, dtype=int), _in_volts, never=never)
    assert found.never_seen.faults == ()
    assert "silent" in found.not_yet_seen.faults
    assert not found.good


def test_what_comes_next_may_be_predicted_for_fewer_hypotheses() -> None:
    readings = read({0: 9.4, 1: 0.2, 2: -0.3})
    weighed = weigh(given([row[:3] for row in EXPECTED]), readings, KEYS, ODDS)
    closer = weigh(given(EXPECTED[:3]), readings, KEYS[:2], ODDS[:2])
    found = verdict_of(weighed, np.array([3, 4]), _in_volts, closer=closer)
    assert found.suspects[0].faults == ("open R2", "open R1")
    assert found.suspects[0].for_good is False
    assert found.next[0].probe.red == "p3"
    assert [set(left) for _, _, left in found.next[0].outcomes] == [{"open R1"}, {"open R2"}]


def test_a_doubtful_reading_is_asked_what_slip_it_was() -> None:
    """The third reading shows what the second probe has: the tip was one pin off."""
    rows = [[0.0, 15.0, 0.0, 0.0, 0.0], [9, 15, 0, 0, 0], [9.1, 15, 0, 7, 0], [0, 23, 8, 0, 0], [0, 15, 0, 0, 0]]
    asked = []

    def slips(k: int) -> list[Slip]:
        asked.append(k)
        beside = Slip(k, 4.0, np.array(rows)[:, 1], np.full(5, 0.5), "tip on p1")
        return [beside, Slip(k, 1.0, np.full(5, -30.0), np.full(5, 0.5), "range 10")]

    readings = read({0: 0.1, 1: 15.2, 2: 15.1, 3: 0.2, 4: -0.1})
    weighed = weigh(given(rows), readings, KEYS, ODDS, predict_slips=slips)
    found = verdict_of(weighed, np.zeros(0, dtype=int), _in_volts)
    assert asked == [2]
    assert found.slips[2, "tip on p1"] > 0.8
    assert found.slips[2, "range 10"] < 1e-6
    assert found.slips[2, "tip on p1"] <= found.wrong_reading[2]
    assert found.wrong_reading[2] > weigh(given(rows), readings, KEYS, ODDS).found.wrong[2]


def test_a_reading_that_alone_speaks_against_a_good_build_is_asked_too() -> None:
    """A common fault explains it well, any wrong reading badly; a slip with a name explains it better than both."""
    rows, odds = [[0.0] * 6, [0, 0, 0, 9.5, 0, 0]], np.array([1.0])
    readings = read({0: 0.1, 1: 0.2, 2: -0.1, 3: 9.0, 4: 0.0, 5: 0.1})

    def beside(k: int) -> list[Slip]:
        return [Slip(k, 1.0, np.array([9.0, 9.0]), np.full(2, 0.02), f"tip beside {k}")]

    without = weigh(given(rows), readings, ("common",), odds)
    assert without.found.wrong[3] < WORTH_NAMING
    found = verdict_of(
        weigh(given(rows), readings, ("common",), odds, predict_slips=beside), np.zeros(0, dtype=int), _in_volts
    )
    assert set(found.slips) == {(3, "tip beside 3")}
    assert found.wrong_reading[3] > float(without.found.wrong[3])
