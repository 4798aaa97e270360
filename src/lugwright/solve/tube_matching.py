"""Tubes sorted into pairs or quads: of all ways to do it, the one with the least sum of squared differences."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import combinations

from lugwright.errors import FitError
from lugwright.solve.results import Matching, SpecimenFit, TubeGroup

MOST_TUBES = {2: 22, 4: 16}


def matched(fits: Sequence[SpecimenFit], *, size: int = 2, within: float | None = None) -> Matching:
    """Return the tubes in groups of two or four, as many as can be made, and of those the closest.

    Parameters
    ----------
    fits : sequence of SpecimenFit
        Compared at one operating point.
    size : {2, 4}
        Pairs or quads.
    within : float, optional
        Leave a tube out rather than put two together that differ by more than this share of their mean, in plate
        current or in transconductance. [-]

    Returns
    -------
    Matching
        Groups, the closest first.

    Raises
    ------
    FitError
        Too many tubes to go through every way of grouping them.

    Source
    ------
    Derived below: the difference of two tubes is the root of the squared relative differences in plate current and
    transconductance; every grouping is compared, each set of remaining tubes only once.
    """
    if len(fits) > MOST_TUBES[size]:
        raise FitError(
            what=f"too many tubes to be matched into {'pairs' if size == 2 else 'quads'} at once",
            found=f"{len(fits)} tubes",
            wanted=f"at most {MOST_TUBES[size]}",
            do="sort them by plate current first and match each heap by itself",
        )
    current = [relative(fit.plate_a for fit in pair) for pair in combinations(fits, 2)]
    steepness = [relative(fit.transconductance_a_per_v for fit in pair) for pair in combinations(fits, 2)]
    cost = {}
    for (a, b), i, g in zip(combinations(range(len(fits)), 2), current, steepness, strict=True):
        far = within is not None and max(i, g) > within
        cost[a, b] = math.inf if far else i * i + g * g
    groups = best_groups(len(fits), size, cost)
    left = sorted(set(range(len(fits))) - {k for group in groups for k in group})
    found = [_group([fits[k] for k in group]) for group in groups]
    found.sort(key=lambda g: (g.difference, g.tubes))
    return Matching(size, within, tuple(found), tuple(fits[k].tube for k in left))


def best_groups(count: int, size: int, cost: dict[tuple[int, int], float]) -> list[tuple[int, ...]]:
    """Return groups of a size with the least total cost among those that leave the fewest out.

    ``cost`` is that of every two in a group, by their numbers, the lower first; infinite where they may not meet.
    """

    @cache
    def best(rest: int) -> tuple[int, float, tuple[tuple[int, ...], ...]]:
        """Return how many are left out, the cost, and the groups, of the tubes whose bits are set."""
        if not rest:
            return 0, 0.0, ()
        low = (rest & -rest).bit_length() - 1
        others = [k for k in range(low + 1, count) if rest >> k & 1]
        left, total, groups = best(rest & ~(1 << low))
        answer = (left + 1, total, groups)
        near = [k for k in others if cost[low, k] < math.inf]
        for chosen in combinations(near, size - 1):
            group = (low, *chosen)
            own = sum(cost[pair] for pair in combinations(group, 2))
            if own < math.inf:
                left, total, groups = best(rest & ~sum(1 << k for k in group))
                answer = min(answer, (left, total + own, (group, *groups)))
        return answer

    return list(best((1 << count) - 1)[2])


def relative(values: Iterable[float]) -> float:
    """Return how far apart values are, as a share of their mean."""
    numbers = list(values)
    mean = sum(numbers) / len(numbers)
    return (max(numbers) - min(numbers)) / mean if mean > 0 else math.inf


def _group(fits: Sequence[SpecimenFit]) -> TubeGroup:
    amps = tuple(fit.plate_a for fit in fits)
    return TubeGroup(
        tuple(fit.tube for fit in fits),
        amps,
        max(amps) - min(amps),
        relative(amps),
        relative(fit.transconductance_a_per_v for fit in fits),
    )
