"""Costs and changes of cost in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from lugwright.layout.explain_results import Choice

LEAST = 0.5  # less is no difference


def terms_in_words(terms: Mapping[str, float]) -> str:
    """Return what something costs, dearest term first."""
    rows = sorted(((value, name) for name, value in terms.items() if abs(value) >= LEAST), key=lambda r: (-r[0], r[1]))
    return ", ".join(f"{name} {value:.0f}" for value, name in rows)


def change_in_words(change: Mapping[str, float]) -> str:
    """Return which terms of a plan grow and which shrink."""
    rows = sorted(((value, name) for name, value in change.items() if abs(value) >= LEAST), key=lambda r: (-r[0], r[1]))
    return ", ".join(f"{name} {value:+.0f}" for value, name in rows) or "costs the same"


def listed(words: Iterable[str]) -> str:
    """Return words as a list in a sentence: a, b and c."""
    words = list(words)
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def cheaper_in_words(choices: Sequence[Choice], where: str, *, pinned: bool) -> tuple[str, ...]:
    """Return a sentence when the best other place is cheaper than where something sits, nothing when it is not."""
    best = choices[0] if choices else None
    if best is None or best.more is None or best.more > -LEAST:
        return ()
    if pinned:
        return (f"Without that wish it could sit {where}{best.place}, {-best.more:.0f} cheaper.",)
    return (f"The search has missed that {where}{best.place} it would be {-best.more:.0f} cheaper; pin it there.",)
