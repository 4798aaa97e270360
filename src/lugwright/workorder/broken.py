"""What a precedence that was given up means at the bench, in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Set

from lugwright.workorder.covers import Precedence


def broken_sentences(broken: Iterable[Precedence], names: Set[str] | None = None) -> tuple[str, ...]:
    """Return one sentence for each piece that goes in before something it lies over.

    With ``names`` only what concerns these pieces: all of a piece among them, else what lies under it of them.
    """
    by_upper: dict[tuple[str, bool], list[Precedence]] = defaultdict(list)
    for rule in broken:
        if names is None or {rule.first, rule.then} & names:
            by_upper[rule.then, rule.slid_in].append(rule)
    return tuple(_sentence(by_upper[key]) for key in sorted(by_upper))


def _sentence(rules: list[Precedence]) -> str:
    first = sorted({rule.first for rule in rules})
    covered = sorted({rule.covered or rule.first for rule in rules})
    one = len(first) == 1
    upper = rules[0].then
    why = rules[0].why if len(rules) == 1 else f"{upper} lies over {_listed(covered)}"
    todo = (
        f"slide {first[0] if one else 'them'} in under {upper}"
        if rules[0].slid_in
        else f"leave {upper} standing clear until {first[0] if one else 'they'} {'is' if one else 'are'} soldered"
    )
    return f"{_listed(first)} {'goes' if one else 'go'} in after {upper} although {why}: {todo}."


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
