"""Costs and changes of cost in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping


def terms_in_words(terms: Mapping[str, float]) -> str:
    """Return what something costs, dearest term first."""
    rows = sorted(((value, name) for name, value in terms.items() if abs(value) >= 0.5), key=lambda r: (-r[0], r[1]))
    return ", ".join(f"{name} {value:.0f}" for value, name in rows)


def change_in_words(change: Mapping[str, float]) -> str:
    """Return which terms of a plan grow and which shrink."""
    rows = sorted(((value, name) for name, value in change.items() if abs(value) >= 0.5), key=lambda r: (-r[0], r[1]))
    return ", ".join(f"{name} {value:+.0f}" for value, name in rows) or "costs the same"


def listed(words: Iterable[str]) -> str:
    """Return words as a list in a sentence: a, b and c."""
    words = list(words)
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
