"""Matched sets against going through every way of grouping."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pytest

from lugwright.catalogue.records import Specimen
from lugwright.errors import FitError
from lugwright.solve.results import OperatingPoint, SpecimenFit
from lugwright.solve.tube_matching import best_groups, matched

POINT = OperatingPoint(405.0, 400.0, -41.0, "as asked for")


def tube(name: str, plate_ma: float, steepness_ma: float = 5.0) -> SpecimenFit:
    return SpecimenFit(name, "6L6GC", Specimen(), (), (), 0.0, POINT, plate_ma / 1e3, 0.0, steepness_ma / 1e3, 0.0, ())


def every_way(rest: tuple[int, ...], size: int) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Yield every way to take groups of a size out of some tubes, tubes left over included."""
    if len(rest) < size:
        yield ()
        return
    yield from every_way(rest[1:], size)
    for others in combinations(rest[1:], size - 1):
        left = tuple(k for k in rest[1:] if k not in others)
        for more in every_way(left, size):
            yield ((rest[0], *others), *more)


@pytest.mark.parametrize("size", [2, 4])
@pytest.mark.parametrize("count", range(9))
def test_groups_are_the_best_of_all_ways(count: int, size: int) -> None:
    random = np.random.default_rng(100 * size + count)
    for barred in (0.0, 0.4):
        cost = {pair: float(random.random()) for pair in combinations(range(count), 2)}
        cost = {pair: np.inf if random.random() < barred else value for pair, value in cost.items()}

        def total(groups: tuple[tuple[int, ...], ...], cost: dict[tuple[int, int], float] = cost) -> float:
            return sum(cost[pair] for group in groups for pair in combinations(group, 2))

        ways = [way for way in every_way(tuple(range(count)), size) if total(way) < np.inf]
        fewest, least = min((count - size * len(way), total(way)) for way in ways)
        found = tuple(best_groups(count, size, cost))
        assert (count - size * len(found), total(found)) == (fewest, pytest.approx(least))


def test_pairs_are_named_with_their_difference_and_the_odd_tube_left_over() -> None:
    tubes = [tube("a", 30.0), tube("b", 40.0), tube("c", 31.0), tube("d", 50.0), tube("e", 39.0)]
    matching = matched(tubes)
    assert [g.tubes for g in matching.groups] == [("b", "e"), ("a", "c")]
    assert matching.groups[0].difference_a == pytest.approx(1e-3)
    assert matching.groups[1].difference == pytest.approx(1.0 / 30.5)
    assert matching.left_over == ("d",)


def test_steepness_counts_where_currents_are_alike() -> None:
    tubes = [tube("a", 30.0, 4.0), tube("b", 30.0, 6.0), tube("c", 30.1, 4.1), tube("d", 30.1, 6.1)]
    assert {g.tubes for g in matched(tubes).groups} == {("a", "c"), ("b", "d")}


def test_no_two_are_put_together_that_differ_by_more_than_asked() -> None:
    tubes = [tube("a", 30.0), tube("b", 40.0), tube("c", 31.0), tube("d", 50.0)]
    matching = matched(tubes, within=0.05)
    assert [g.tubes for g in matching.groups] == [("a", "c")]
    assert matching.left_over == ("b", "d")


def test_a_quad_is_measured_from_its_highest_to_its_lowest() -> None:
    (quad,) = matched([tube(n, ma) for n, ma in zip("abcd", (30, 31, 33, 32), strict=True)], size=4).groups
    assert quad.difference_a == pytest.approx(3e-3)
    assert quad.difference == pytest.approx(3.0 / 31.5)


@pytest.mark.parametrize(("size", "count", "word"), [(2, 23, "pairs"), (4, 17, "quads")])
def test_too_many_at_once_is_refused(size: int, count: int, word: str) -> None:
    with pytest.raises(FitError) as caught:
        matched([tube(str(k), 30.0) for k in range(count)], size=size)
    assert str(caught.value).splitlines() == [
        f"too many tubes to be matched into {word} at once",
        f"  found:  {count} tubes",
        f"  wanted: at most {count - 1}",
        "  do:     sort them by plate current first and match each heap by itself",
    ]
