"""Where the tips stand: terminals on one joint are one spot, but for those that a fault takes off it."""

from __future__ import annotations

import functools
from collections import Counter

from lugwright.bringup.trace.bench import FINAL, TraceBench
from lugwright.bringup.trace.records import Probe
from lugwright.bringup.trace.tips import tips_of
from lugwright.solve.idle import solve_columns

from ..faults.one_stage import one_stage


@functools.cache
def bench() -> TraceBench:
    build, circuit, plan = one_stage()
    return TraceBench(build, circuit, plan, solve_columns(circuit)[0])


def two_on_one_joint() -> tuple[str, str, str]:
    joints = {key: t.joint for key, t in bench().plan.terminals.items() if t.joint not in ("", bench().circuit.ground)}
    known = set(bench().circuit.joints)
    (joint, _), *_ = Counter(j for j in joints.values() if j in known).most_common(1)
    one, other, *_ = (key for key, own in joints.items() if own == joint)
    return joint, one, other


def probe(red: str) -> Probe:
    return Probe(FINAL, red, bench().circuit.ground, "V dc", red, 0.0, 0.0)


def test_terminals_of_one_joint_are_read_once() -> None:
    joint, one, other = two_on_one_joint()
    tips = tips_of(bench(), [probe(one), probe(other)], [({}, set()), ({}, set())])
    assert tips.pairs == [[(joint, bench().circuit.ground)]] * 2
    assert tips.place.tolist() == [[0, 0], [0, 0]]
    assert not tips.same.any()
    assert not tips.alone.any()


def test_one_that_stands_elsewhere_has_a_spot_of_its_own_under_that_hypothesis_alone() -> None:
    joint, one, other = two_on_one_joint()
    ground = bench().circuit.ground
    probes = [probe(one), probe(other)]
    moved, loose = ({other: "off"}, {"off"}), ({other: "nowhere"}, set[str]())
    tips = tips_of(bench(), probes, [({}, set()), moved, loose, ({one: ground}, set())])
    assert tips.place.tolist() == [[0, 0], [0, 1], [0, 1], [1, 0]]
    assert tips.pairs[1] == [(joint, ground), ("off", ground)]
    assert tips.pairs[2] == [(joint, ground), (ground, ground)]  # it floats: nothing is read there
    assert tips.alone.tolist() == [[False, False], [False, False], [False, True], [False, False]]
    assert tips.same.tolist() == [[False, True], [False, False], [False, False], [False, True]]
    assert tips.probe[1].tolist() == [0, 1]
