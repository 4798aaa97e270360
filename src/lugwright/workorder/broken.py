"""What a precedence that was given up means at the bench, in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Set

from lugwright.workorder.covers import Precedence
from lugwright.workorder.in_words import in_bench_order


def broken_sentences(broken: Iterable[Precedence]) -> tuple[str, ...]:
    """Return one sentence for each piece that goes in before something it lies over."""
    by_upper: dict[tuple[str, bool], list[Precedence]] = defaultdict(list)
    for rule in broken:
        by_upper[rule.then, rule.slid_in].append(rule)
    return tuple(_sentence(by_upper[key]) for key in sorted(by_upper))


def _sentence(rules: list[Precedence]) -> str:
    first = in_bench_order(rule.first for rule in rules)
    covered = in_bench_order(rule.covered or rule.first for rule in rules)
    one = len(first) == 1
    upper = rules[0].then
    why = rules[0].why if len(rules) == 1 else f"{upper} lies over {_listed(covered)}"
    todo = (
        f"slide {first[0] if one else 'them'} in under {upper}"
        if rules[0].slid_in
        else f"leave {upper} standing clear until {first[0] if one else 'they'} {'is' if one else 'are'} soldered"
    )
    return f"{_listed(first)} {'goes' if one else 'go'} in after {upper} although {why}: {todo}."


def card_notes(broken: Iterable[Precedence], names: Set[str]) -> tuple[str, ...]:
    """Return what a card with these pieces has to say: at most one line of each kind, however many pieces it names."""
    on_card = [rule for rule in broken if {rule.first, rule.then} & names]
    found = []
    for title, slid_in, upper, words in _LINES:
        here = [rule for rule in on_card if rule.slid_in == slid_in and (rule.then in names) == upper]
        if here:
            found.append(f"{title}: {'; '.join(words(*pile) for pile in _piles(here))}.")
    return tuple(found)


def _piles(rules: list[Precedence]) -> list[tuple[list[str], list[str], str]]:
    """Return what lies over the same pieces together: what is above, what comes beneath, which lugs are hidden."""
    by_upper: dict[str, list[Precedence]] = defaultdict(list)
    for rule in rules:
        by_upper[rule.then].append(rule)
    piles: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for upper in in_bench_order(by_upper):
        first = tuple(in_bench_order(rule.first for rule in by_upper[upper]))
        piles.setdefault((first, _lugs(by_upper[upper])), []).append(upper)
    return [(uppers, list(first), lugs) for (first, lugs), uppers in piles.items()]


def _lugs(rules: list[Precedence]) -> str:
    """Return the lugs that are covered; a piece that is covered is named already."""
    covered = in_bench_order(rule.covered for rule in rules if rule.covered not in ("", rule.first))
    return f" (over {_listed(covered)})" if covered else ""


def _until(uppers: list[str], first: list[str], lugs: str) -> str:
    return f"{_listed(uppers)} until {_listed(first)} {'is' if len(first) == 1 else 'are'} in{lugs}"


def _under(uppers: list[str], first: list[str], lugs: str) -> str:
    return f"{_listed(first)} under {_listed(uppers)}{lugs}"


def _room(uppers: list[str], first: list[str], lugs: str) -> str:
    return f"{_listed(uppers)} for {_listed(first)}{lugs}"


# What a line says, whether the lower piece is slid in, whether the upper piece is on this card, its words.
_LINES: tuple[tuple[str, bool, bool, Callable[[list[str], list[str], str], str]], ...] = (
    ("Leave standing clear", False, True, _until),
    ("Goes in under what stands clear", False, False, _under),
    ("Leave room beneath", True, True, _room),
    ("Slide in", True, False, _under),
)


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
