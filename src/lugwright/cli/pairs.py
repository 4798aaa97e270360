"""Pairs on the command line: ``"V1 pin 6" 203`` or ``"V1 pin 6 = 203"``; a value may begin with a minus."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import click


def pairs_of(said: Sequence[str], form: str, nothing: str) -> list[tuple[str, str]]:
    """Return what is said and its value, apart; ``nothing`` is told when there is none."""
    words, found = list(said), []
    while words:
        what, equals, value = words.pop(0).partition("=")
        if not equals:
            if not words:
                raise click.UsageError(
                    f"{what!r} stands there without a value: write {form}, or '{form.replace(' ', ' = ')}'"
                )
            value = words.pop(0)
        found.append((what.strip(), value.strip()))
    if not found:
        raise click.UsageError(nothing)
    return found


def only_known_options(said: Iterable[str]) -> None:
    """Refuse a misspelled option among values that may begin with a minus."""
    for word in said:
        if word.startswith("--") or (word.startswith("-") and not any(c.isdigit() for c in word[:3])):
            raise click.UsageError(f"there is no option {word}")
