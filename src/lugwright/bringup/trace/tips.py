"""Where both tips of the meter stand under each hypothesis: terminals on one joint read alike, and are asked once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.bench import TraceBench
from lugwright.bringup.trace.records import Probe

Pair = tuple[str, str]
Elsewhere = tuple[Mapping[str, str], Set[str]]  # terminals with the joints they stand on, joints that were made


@dataclass(frozen=True)
class Tips:
    """The spots that are read under each hypothesis: pairs of joints, and which probes read there.

    First the pairs of the circuit as planned, then those of tips that stand elsewhere, filled up with ground. A tip on
    a lug that nothing is joined to stands on ground.
    """

    plain: list[Pair]
    pairs: list[list[Pair]]  # (hypothesis, spot); one and the same list where no tip stands elsewhere
    alone: NDArray[np.bool_]  # (hypothesis, spot): a tip stands on a lug that nothing is joined to
    same: NDArray[np.bool_]  # (hypothesis, spot): both on one joint
    probe: NDArray[np.int_]  # (hypothesis, spot): one of those that read there
    place: NDArray[np.int_]  # (hypothesis, probe): the spot at which it reads


def tips_of(bench: TraceBench, probes: Sequence[Probe], hypotheses: Sequence[Elsewhere]) -> Tips:
    """Return where the tips stand under each hypothesis, told by what it moves and makes."""
    ground = bench.circuit.ground
    planned = [(bench.joint_of(p.red), bench.joint_of(p.black)) for p in probes]
    spots = {pair: k for k, pair in enumerate(dict.fromkeys(planned))}
    first = [planned.index(pair) for pair in spots]
    at: dict[str, list[int]] = {}
    for k, each in enumerate(probes):
        for key in (each.red, each.black):
            at.setdefault(key, []).append(k)
    known = {*bench.circuit.joints, ground}
    moved = [_moved(bench, probes, planned, at, stands) for stands, _ in hypotheses]
    count = len(spots) + max((len(set(own.values())) for own in moved), default=0)
    fill = [(ground, ground)] * (count - len(spots))
    plain = [*spots, *fill]
    place = np.tile(np.array([spots[pair] for pair in planned], dtype=int), (len(hypotheses), 1))
    probe = np.tile(np.array([*first, *([0] * len(fill))], dtype=int), (len(hypotheses), 1))
    alone = np.zeros((len(hypotheses), count), dtype=bool)
    pairs = []
    for row, (own, (_, made)) in enumerate(zip(moved, hypotheses, strict=True)):
        here = list(plain) if own else plain
        for n, spot in enumerate(dict.fromkeys(own.values()), len(spots)):
            red, black, probe[row, n] = *spot[:2], spot[2]
            loose = not {red, black} <= known | made
            alone[row, n] = loose and red != black
            here[n] = (ground, ground) if loose else (red, black)
            place[row, [k for k, other in own.items() if other == spot]] = n
        pairs.append(here)
    same = np.array([red == black for here in pairs for red, black in here], dtype=bool).reshape(alone.shape) & ~alone
    return Tips(plain, pairs, alone, same, probe, place)


def _moved(
    bench: TraceBench, probes: Sequence[Probe], planned: Sequence[Pair], at: Mapping[str, Sequence[int]],
    stands: Mapping[str, str],
) -> dict[int, tuple[str, str, int]]:  # fmt: skip
    """Return the probes of which a tip stands elsewhere: on which joints, and the first that is planned as it is."""
    found: dict[int, tuple[str, str, int]] = {}
    firsts: dict[Pair, int] = {}
    for k in sorted({k for key in stands if key in at for k in at[key]}):
        first = firsts.setdefault(planned[k], k)
        found[k] = bench.joint_of(probes[k].red, stands), bench.joint_of(probes[k].black, stands), first
    return found
