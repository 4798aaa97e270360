"""What a precedence that was given up means at the bench, in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Set

from lugwright.workorder.covers import CHEAP, Precedence
from lugwright.workorder.in_words import in_bench_order


def broken_sentences(broken: Iterable[Precedence]) -> tuple[str, ...]:
    """Return one sentence for each piece that goes in before something it lies over."""
    by_upper: dict[tuple[str, bool], list[Precedence]] = defaultdict(list)
    for rule in broken:
        by_upper[rule.then, rule.cost <= CHEAP].append(rule)
    return tuple(_sentence(by_upper[key]) for key in sorted(by_upper))


def _sentence(rules: list[Precedence]) -> str:
    first = in_bench_order(rule.first for rule in rules)
    covered = in_bench_order(rule.covered or rule.first for rule in rules)
    one = len(first) == 1
    upper = rules[0].upper or rules[0].then
    why = rules[0].why if len(rules) == 1 else f"{upper} lies over {_listed(covered)}"
    todo = (
        f"slide {first[0] if one else 'them'} in beneath {upper}"
        if rules[0].cost <= CHEAP
        else f"leave {upper} standing clear until {first[0] if one else 'they'} {'is' if one else 'are'} soldered"
    )
    return f"{_listed(first)} {'goes' if one else 'go'} in after {upper} although {why}: {todo}."


def card_notes(broken: Iterable[Precedence], names: Set[str]) -> tuple[str, ...]:
    """Return what a card with these pieces has to say, each broken precedence on one card only.

    What can be slid in is told where it is slid in; what hides a part or a lug is told where it must be left clear.
    """
    kept = list(broken)
    clear = [rule for rule in kept if rule.cost > CHEAP and rule.then in names]
    beneath = [rule for rule in kept if rule.cost <= CHEAP and rule.first in names]
    found = []
    if clear:
        words = [f"{_listed(uppers)} until {_listed(first)} {'is' if len(first) == 1 else 'are'} soldered{lugs}"
                 for uppers, first, lugs in _piles(clear)]  # fmt: skip
        found.append(f"Leave standing clear: {'; '.join(words)}.")
    if beneath:
        words = [f"{_listed(first)} beneath {_listed(uppers)}" for uppers, first, _ in _piles(beneath)]
        found.append(f"Goes in beneath what is there: {'; '.join(words)}.")
    return tuple(found)


def _piles(rules: list[Precedence]) -> list[tuple[list[str], list[str], str]]:
    """Return what lies over the same pieces together: what is above, what comes beneath, which lugs are hidden."""
    by_first: dict[str, list[Precedence]] = defaultdict(list)
    for rule in rules:
        by_first[rule.first].append(rule)
    piles: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for first in in_bench_order(by_first):
        uppers = tuple(in_bench_order(rule.upper or rule.then for rule in by_first[first]))
        piles.setdefault((uppers, _lugs(by_first[first])), []).append(first)
    return [(list(uppers), first, lugs) for (uppers, lugs), first in piles.items()]


def _lugs(rules: list[Precedence]) -> str:
    """Return the lugs that are covered; a piece that is covered is named already."""
    covered = in_bench_order(rule.covered for rule in rules if rule.covered not in ("", rule.first))
    return f" (over {_listed(covered)})" if covered else ""


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
