"""Who answers for what: a build stays where it is, and what is new goes where it disturbs least."""

from __future__ import annotations

from lugwright.web import shares
from lugwright.web.shares import Shares


def test_a_build_stays_with_its_worker_and_the_next_one_goes_to_the_other() -> None:
    of = Shares(2)
    assert [of.place(key, deed=False) for key in ("a", "b", "a", "b", "c")] == [0, 1, 0, 1, 0]


def test_what_is_new_goes_where_nobody_writes() -> None:
    of = Shares(2)
    assert of.place("a", deed=False) == 0
    assert of.place("a", deed=True) == 0
    assert [of.place(key, deed=False) for key in ("b", "c", "d")] == [1, 1, 1]
    assert of.place("d", deed=True) == 1
    assert of.place("e", deed=False) == 0


def test_only_so_much_is_known() -> None:
    of = Shares(1)
    for number in range(10 * shares.MOST_KNOWN):
        of.place(number, deed=False)
    assert len(of._known) == shares.MOST_KNOWN
