"""What the fast way predicts is what the exact way reads, for faults of every kind."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import FINAL, OHMS, SIGNAL, TraceBench
from lugwright.bringup.trace.even_scale import even
from lugwright.bringup.trace.exact import ExactReadings
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.bringup.trace.reading_noise import MODEL
from lugwright.bringup.trace.records import Probe, Taken
from lugwright.bringup.trace.tracer import Tracer
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.solve.idle import solve_columns

from ..faults.one_stage import one_stage

# Stated before the first run: the fast way must be right within the doubt it states itself, twice over.
SPREADS = 2.0


@functools.cache
def predictor() -> Predictor:
    build, circuit, plan = one_stage()
    bench = TraceBench(build, circuit, plan, solve_columns(circuit)[0])
    return Predictor(bench, probes_of(bench), hypotheses_of(circuit, faults_of(build, circuit, plan)))


def some_probes(step: str, quantity: str) -> list[Probe]:
    return [p for p in predictor().probes if (p.step, p.quantity) == (step, quantity)]


@pytest.mark.parametrize(
    ("step", "quantity", "every"),
    [
        (OHMS, "ohm", 7),
        (FINAL, "V dc", 5),
        ("heaters", "V ac", 3),
        (FINAL, "ripple V ac", 3),
        (SIGNAL, "signal V ac", 4),
    ],
)
def test_predictions_are_what_the_exact_way_reads(step: str, quantity: str, every: int) -> None:
    whole = predictor()
    probes = some_probes(step, quantity)[::every]
    places = np.arange(0, len(whole.hypotheses), 9)
    told = whole.predictions(probes, places)
    off, compared = [], 0
    for row, place in enumerate(places):
        exact = ExactReadings(whole.bench, whole.hypotheses[place])
        for k, probe in enumerate(probes):
            if told.known[row, k]:
                apart = abs(float(even(quantity, exact.value(probe))) - told.expected[row, k])
                compared += 1
                if apart > SPREADS * told.noise[row, k]:
                    off.append((whole.hypotheses[place].faults[0].key, probe.words, apart / told.noise[row, k]))
    assert compared > 0.8 * told.known.size
    assert len(off) <= 0.01 * compared, off


def test_spreads_are_those_of_the_exact_way() -> None:
    whole = predictor()
    (probe,) = [
        p for p in whole.probes if p.step == FINAL and p.quantity == "V dc" and p.red == "V1.1" and p.black == "ground"
    ]
    told = whole.predictions([probe], np.array([0]))
    cause = next(k for k, c in enumerate(whole.causes) if c.part == "R3")
    share = whole.causes[cause].extent / np.sqrt(3.0)
    values = [
        ExactReadings(whole.bench, whole.hypotheses[0], Edit("", (ScaleValue("R3", "ohm", 1.0 + sign * share),))).value(
            probe
        )
        for sign in (1.0, -1.0)
    ]
    moved = 0.5 * float(even("V dc", values[0]) - even("V dc", values[1]))
    assert told.loading[0, 0, cause] == pytest.approx(moved, rel=0.02)


def test_two_at_once_are_solved_together() -> None:
    whole = predictor()
    keys = {h.faults[0].key: k for k, h in enumerate(whole.hypotheses) if h.faults}
    pair = (keys["open R3"], keys["shorted C1"])
    probes = some_probes(FINAL, "V dc")[:6]
    told = whole.paired([pair], probes)
    one, other = (whole.predictions(probes, np.array([k])) for k in pair)
    assert not np.allclose(told.expected, one.expected, atol=1e-3)
    assert not np.allclose(told.expected, other.expected, atol=1e-3)


def test_pairs_that_were_asked_for_before_say_what_they_said() -> None:
    whole, (first, second) = predictor(), ((3, 8), (5, 13))
    probes = some_probes(OHMS, "ohm")[:4]
    whole.pairs.clear()
    alone = whole.paired([second], probes).expected
    both = whole.paired([first, second], probes)
    assert [len(part.chosen) for part in whole.pairs[0].steps[OHMS].parts] == [1, 1]  # the one that is new by itself
    assert np.allclose(both.expected[1:], alone, rtol=1e-9)
    assert np.allclose(whole.paired([second], probes).expected, alone, rtol=1e-9)


def test_of_a_step_that_nobody_read_each_hypothesis_is_solved_when_it_is_first_asked_for() -> None:
    whole = predictor()
    fresh = Predictor(whole.bench, whole.probes, whole.hypotheses)
    probes, some = some_probes(FINAL, "V dc")[:3], np.array([9, 0, 4, 21])
    told = fresh.lumped(probes, some)
    assert not fresh.steps[FINAL].is_solved
    (part,) = fresh.parted[FINAL].parts
    assert part.chosen.tolist() == [0, 4, 9, 21]
    fresh.lumped(probes[:1], np.array([21, 30, 4, 7]))
    assert [part.chosen.tolist() for part in fresh.parted[FINAL].parts] == [[0, 4, 9, 21], [7, 30]]
    every = np.arange(len(fresh.hypotheses))
    fresh.lumped(probes[:1], every)
    solved = np.sort(np.concatenate([part.chosen for part in fresh.parted[FINAL].parts]))
    assert solved.tolist() == every.tolist()
    again = fresh.predictions(probes, some)
    assert told.known.tolist() == again.known.tolist()
    assert np.allclose(told.mean, again.expected, atol=1e-6)


def test_what_is_solved_in_passing_is_not_kept_but_what_it_reads_is() -> None:
    whole = predictor()
    fresh = Predictor(whole.bench, whole.probes, whole.hypotheses)
    probes, some = some_probes(FINAL, "V dc")[:3], np.array([9, 0, 4])
    told = fresh.lumped(probes, some, in_passing=True)
    assert fresh.parted[FINAL].parts == []
    assert fresh.lumped(probes, some).mean.tolist() == told.mean.tolist()
    assert fresh.parted[FINAL].parts == []


def test_what_was_worked_out_ahead_changes_no_answer() -> None:
    whole = predictor()
    probes = {p: p.effort + p.risk for p in some_probes(OHMS, "ohm")[:40]}
    first, second = (Taken(p, value, 0.01 * value) for p, value in zip(probes, (1e3, 4.7e5), strict=False))
    hasty, working = (Tracer(Predictor(whole.bench, whole.probes, whole.hypotheses)) for _ in range(2))
    working.verdict([first], probes)
    assert len(list(working.ahead.pieces())) > 5
    one, other = hasty.verdict([first, second], probes), working.verdict([first, second], probes)
    assert [s.faults for s in one.suspects] == [s.faults for s in other.suspects]
    assert [s.chance for s in one.suspects] == pytest.approx([s.chance for s in other.suspects], abs=1e-6)
    assert [n.probe.words for n in one.next] == [n.probe.words for n in other.next]


def test_probes_of_steps_wired_alike_are_worked_out_together() -> None:
    whole = predictor()
    heaters, empty = some_probes("heaters", "V ac")[:2], some_probes("no tubes", "V dc")[:1]
    final = some_probes(FINAL, "V dc")[:1]
    assert whole.by_circuit([*heaters, *final, *empty]) == [[*heaters, *empty], final]


def test_what_all_hypotheses_say_of_a_reading_that_nobody_took_can_be_dropped() -> None:
    whole = predictor()
    fresh = Predictor(whole.bench, whole.probes, whole.hypotheses)
    one, other = some_probes(OHMS, "ohm")[:2]
    fresh.predictions([one, other])
    fresh.forget([one, some_probes(FINAL, "V dc")[0]])
    assert list(fresh.kept) == [other]


def test_steps_in_which_only_something_else_is_looked_at_are_solved_once() -> None:
    whole = predictor()
    assert whole.bench.wired_alike("heaters") == ("no tubes", "heaters")
    assert whole.bench.wired_alike(FINAL) == (FINAL,)
    assert whole.bench.wired_alike(SIGNAL) == (SIGNAL,)
    for step in ("no tubes", "heaters"):
        whole.predictions([p for p in whole.probes if p.step == step][:1])
    assert whole.steps["heaters"] is whole.steps["no tubes"]


def test_with_mains_between_grid_and_cathode_nobody_knows_that_plate_to_the_volt() -> None:
    whole = predictor()
    probes = [p for p in whole.probes if (p.step, p.quantity, p.red, p.black) == (FINAL, "V dc", "V1.1", "ground")]
    noise = whole.predictions(probes).noise[:, 0]
    place = {h.faults[0].key: k for k, h in enumerate(whole.hypotheses) if h.faults}
    own, beside = noise[place["bridged V1.3 V1.4"]], noise[place["bridged V1.8 V1.9"]]
    assert own > 0.5  # of a factor e
    assert noise[0] < beside < 0.05  # the other half of the tube pulls at the same supply


def test_a_table_of_spreads_says_the_same() -> None:
    whole = predictor()
    probes, some = whole.probes[:5], np.arange(4)
    before = whole.lumped(probes, some)
    fresh = Predictor(whole.bench, probes, whole.hypotheses)
    fresh.prepare()
    after = fresh.lumped(probes, some)
    assert np.allclose(before.mean, after.mean)
    assert np.allclose(before.sd, after.sd)


def test_every_quantity_has_its_doubt() -> None:
    assert {p.quantity for p in predictor().probes} <= set(MODEL)
